"""What comparing values says, and rules of several families."""

from typing import Final

COMPARED: Final[dict[str, str]] = {
    # a value against its limit
    "is_above": "{what} {value} is {gap} above the limit {limit}",
    "is_below": "{what} {value} is {gap} below the limit {limit}",
    "is_on": "{what} {value} is on the limit",
    "too_near": "{found}: too near to tell, {chance} likely to be within it",
    "less_than": "less than {share}",
    "more_than": "more than {share}",
    "measure_better": "measure again, with a better gauge or at 20 °C",
    "do_renew_ring": "renew the ring",
}
