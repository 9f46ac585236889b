"""The words of phones beside a bench: how they are paired, and what a paired one shows."""

from typing import Final

PHONE_WORDS: Final = {
    # at the bench
    "page_phone": "Phone",
    "phone_head": "Phones beside bench {bench}",
    "phone_off": "No phone may be paired with this bench: its file does not say so ([board] with"
    " lan = true).",
    "phone_no_network": "This machine has no address in a network.",
    "phone_no_room": "No more phones can be paired; forget those that are.",
    "phone_more": "A paired phone shows the bench, answers what is asked for and takes photos of"
    " parts, in its owner's name. It stays paired until the bench ends or you forget it here.",
    "phone_code": "Show a code for one phone",
    "phone_scan": "Scan it with the phone's camera. It pairs one phone, within {seconds} s.",
    "phone_code_picture": "Code with the address {address}",
    "phone_warns": "The phone warns, because nobody vouches for the bench's certificate. Look at it"
    " there: go on only where its SHA-256 is",
    "phone_code_over": "The code was used, or is too old.",
    "phone_paired": "Paired: {names}",
    "phone_none": "No phone is paired.",
    "phone_forget": "Forget all phones",
    "phone_trouble": "Phones can't come: {why}",
    # before a phone is paired
    "phone_short": "This is a bench. Its board shows a code that pairs a phone: scan that.",
    "phone_your_name": "Your name, as the record is to have it",
    "phone_pair": "Pair this phone",
    "phone_wrong": "The code was used, or is too old. Show a new one at the bench.",
    "phone_often": "Too many wrong codes. Wait a minute, then show a new one at the bench.",
    "phone_nameless": "Say your name.",
    "phone_many": "No more phones can be paired. Forget those that are, at the bench.",
    # on a paired phone
    "page_photos": "Photos",
    "page_tell": "Tell",
    "tell_nothing": "Nothing is asked to be told now.",
    "photos_of": "Photos of {part}",
    "photos_head": "Photos",
    "photo_take": "Take a photo of {part}",
    "photo_sending": "Sending",
    "photo_taken": "Taken: it stands in the record.",
    "photo_not_sent": "Not sent: the bench can't be reached. Try again.",
    "photo_none": "No photo of {part} yet.",
    "photo_back": "Take it back",
    "photo_back_why": "taken back on the phone",
    "photo_picture": "Photo of {part}",
    "photo_waits": "Not taken: the bench has not answered.",
    "photo_no_part": "There is no such part in this set.",
    "photo_not_kept": "Not taken: the photo can't be kept ({why}).",
    "photos_show": "Photos ({count})",
    "phone_parts": "Parts",
    "photo_hash": "kept, SHA-256 {digits}…",
    "photos_wait": "No parts yet: the bench has no job.",
    "phone_elsewhere": "That is done at the bench itself.",
    "phone_typed": "Value",
    "phone_answer": "Tell",
    # what is not taken over a line that others can read
    "only_over_tls": "A passphrase is taken only on the bench's own machine, or over TLS: this page"
    " comes over a line that others can read.",
}
"""The texts by their keys."""
