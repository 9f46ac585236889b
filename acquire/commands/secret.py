"""How a command is given what nobody is to read: from standard input, or typed twice and unseen."""

import typer


def secret_given(what: str, *, from_stdin: bool) -> str:
    """A passphrase or code.

    Args:
        what: what is asked for, as the prompt says it.
        from_stdin: it is the first line of standard input; nobody is asked.
    """
    import sys

    if from_stdin:
        return sys.stdin.readline().rstrip("\r\n")
    typed: str = typer.prompt(what, hide_input=True, confirmation_prompt=True)
    return typed
