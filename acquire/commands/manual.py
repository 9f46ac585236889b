"""How a command's help is laid out: like a page of a manual, plain, in a terminal of any width."""

import re
import shutil
from inspect import cleandoc
from typing import TYPE_CHECKING, Any

from typer.core import TyperArgument, TyperCommand, TyperGroup, TyperOption

if TYPE_CHECKING:  # the library's own bases, which it has no public name for
    from typer._click.core import Context, Parameter
    from typer._click.formatting import HelpFormatter

WIDEST, NARROWEST = 88, 32
EXAMPLE = "Example:"
Rows = list[tuple[str, str]]
OPTION_NAMES = {"help_option_names": ["-h", "--help"]}


class Manual(TyperCommand):
    """One command's page: usage, what it does, an example, its arguments and options."""

    def make_context(self, *args: Any, **extra: Any) -> "Context":  # noqa: ANN401  handed on
        """Begin the command in the width of the terminal as it is now."""
        return _in_width(super().make_context, *args, **extra)

    def get_params(self, ctx: "Context") -> "list[Parameter]":
        """The command's arguments and options."""
        return _quick(super().get_params(ctx))

    def collect_usage_pieces(self, ctx: "Context") -> list[str]:
        """The usage line's pieces: `[OPTIONS] TRACE.csv... [FEATURE]`."""
        return ["[OPTIONS]", *_arguments_in_usage(self, ctx)]

    def format_help_text(self, ctx: "Context", formatter: "HelpFormatter") -> None:
        """Write what the command does, from its docstring."""
        formatter.write_paragraph()
        with formatter.indentation():
            formatter.write_text(as_help(self.help or ""))

    def format_options(self, ctx: "Context", formatter: "HelpFormatter") -> None:
        """Write the arguments and the options."""
        _parameters(self, ctx, formatter)


class Contents(TyperGroup):
    """A page that lists commands by the task they are for."""

    def make_context(self, *args: Any, **extra: Any) -> "Context":  # noqa: ANN401  handed on
        """Begin the command in the width of the terminal as it is now."""
        return _in_width(super().make_context, *args, **extra)

    def get_params(self, ctx: "Context") -> "list[Parameter]":
        """The command's arguments and options."""
        return _quick(super().get_params(ctx))

    def format_options(self, ctx: "Context", formatter: "HelpFormatter") -> None:
        """Write the commands, then the options that go before them."""
        self.format_commands(ctx, formatter)
        _parameters(self, ctx, formatter)

    def format_commands(self, ctx: "Context", formatter: "HelpFormatter") -> None:
        """Write every command under its task, with the first sentence of its help."""
        tasks: dict[str, Rows] = {}
        for name in self.list_commands(ctx):
            command = self.get_command(ctx, name)
            if command is not None:
                task = getattr(command, "rich_help_panel", None) or "Commands"
                about = as_help(command.help or "").split("\n\n", 1)[0]
                tasks.setdefault(task, []).append((name, about))
        for task, rows in tasks.items():
            _section(formatter, task, rows)


def as_help(text: str) -> str:
    """A docstring as help: each paragraph one line, for the terminal to wrap to its own width.

    Examples stand as they were written, behind the mark of the library for that.
    """
    return "\n\n".join(
        f"\b\n{paragraph}" if paragraph.startswith(EXAMPLE) else " ".join(paragraph.split())
        for paragraph in cleandoc(text).split("\n\n")
    )


def examples_in(text: str) -> list[str]:
    """The command lines of a docstring's example."""
    paragraphs = cleandoc(text).split("\n\n")
    lines = [p.split("\n")[1:] for p in paragraphs if p.startswith(EXAMPLE)]
    return [line.strip() for lines_of_one in lines for line in lines_of_one]


def _quick(parameters: "list[Parameter]") -> "list[Parameter]":
    """Give flags a default: nothing at all would be checked by a library that is slow to load."""
    for option in parameters:
        if isinstance(option, TyperOption) and option.is_flag and option.default is None:
            option.default = False
    return parameters


def _in_width(make: Any, *args: Any, **extra: Any) -> "Context":  # noqa: ANN401  handed on
    columns = shutil.get_terminal_size().columns - 2
    extra.setdefault("terminal_width", max(NARROWEST, min(columns, WIDEST)))
    context: Context = make(*args, **extra)
    return context


def _arguments_in_usage(command: TyperCommand, ctx: "Context") -> list[str]:
    arguments = [p for p in command.get_params(ctx) if isinstance(p, TyperArgument)]
    return [_name(a) if a.required else f"[{_name(a)}]" for a in arguments]


def _name(argument: TyperArgument) -> str:
    """An argument as it stands in usage and list: `SESSION`, or `TRACE.csv...` for several."""
    several = "..." if argument.nargs != 1 else ""
    return (argument.metavar or argument.name.upper()) + several


def _parameters(command: TyperCommand | TyperGroup, ctx: "Context", page: "HelpFormatter") -> None:
    arguments: Rows = []
    options: Rows = []
    for parameter in command.get_params(ctx):
        row = parameter.get_help_record(ctx)
        if row is None:
            continue
        if isinstance(parameter, TyperArgument):
            arguments.append((_name(parameter), row[1].removesuffix("[required]").rstrip()))
        else:
            options.append((row[0], _plain(row[1])))
    _section(page, "Arguments", arguments)
    _section(page, "Options", options)


def _plain(text: str) -> str:
    """An option's meaning with its range in words: `1 to 24`, `0 or more`."""
    text = re.sub(r"([\d.]+)<=x<=([\d.]+)", r"\1 to \2", text)
    return re.sub(r"x>=([\d.]+)", r"\1 or more", text)


def _section(page: "HelpFormatter", heading: str, rows: Rows) -> None:
    if rows:
        with page.section(heading):
            page.write_dl(rows, col_max=min(26, page.width // 3))
