"""Turns what the command-line library found wrong in the arguments into the one line of our own form.

It goes by the attributes of the library's errors, since their classes have no public home. It must not print or exit.
"""

from __future__ import annotations

import re
from typing import Any, cast

import typer

from diagnose.basics.errors import Problem, meant

__all__ = ["UsageError", "usage_problem"]

# The class above the public one: wrong options, values, commands and numbers of arguments alike.
UsageError = cast(type[Exception], typer.BadParameter.__mro__[1])

_UNKNOWN_COMMAND = re.compile(r"command (['\"])(.*?)\1\.(?: Did you mean .*)?$", re.DOTALL)
_RIGHT = {int: "write a whole number, such as 1", float: "write a number"}


def usage_problem(error: Exception) -> Problem:
    """Return the problem behind a usage error: the option, argument or command, what is wrong, what would be right."""
    detail = cast(Any, error)
    context = getattr(detail, "ctx", None)
    path = context.command_path if context is not None else "diagnose"
    parameter = getattr(detail, "param", None)
    if parameter is not None:
        return _value_problem(detail, parameter, path)
    if (option := getattr(detail, "option_name", None)) is not None:
        return _option_problem(detail, str(option), context, path)
    message = str(getattr(detail, "message", error))
    if context is not None and (found := _UNKNOWN_COMMAND.search(message)):
        right = meant(found[2], getattr(context.command, "commands", {}), f"`{path} --help` lists the commands")
        return Problem(found[2], None, None, "there is no such command", right)
    return Problem(path, None, None, _clause(message), f"`{path} --help` shows what it takes")


def _value_problem(detail: Any, parameter: Any, path: str) -> Problem:
    is_option = parameter.param_type_name == "option"
    name = max(parameter.opts, key=len) if is_option else _bare(parameter.metavar or parameter.name.upper())
    helped = (getattr(parameter, "help", None) or "").split(". ")[0].rstrip(".")
    right = f"it takes: {helped}" if helped else f"`{path} --help` shows what it takes"
    if not detail.message:
        return Problem(name, None, None, "this is missing", right)
    annotation = getattr(getattr(parameter, "type_descriptor", None), "annotation", None)
    return Problem(name, None, None, _clause(detail.message), _RIGHT.get(cast(Any, annotation), right))


def _option_problem(detail: Any, option: str, context: Any, path: str) -> Problem:
    if not hasattr(detail, "possibilities"):
        needs = "require" in detail.message
        what = "the value is missing" if needs else "this option takes no value"
        return Problem(option, None, None, what, f"`{path} --help` shows what it takes")
    known = [name for parameter in context.command.params for name in parameter.opts] if context is not None else []
    right = meant(option, known, f"`{path} --help` lists the options")
    return Problem(option, None, None, "there is no such option", right)


def _clause(message: str) -> str:
    """Return the library's sentence as the first half of ours."""
    text = " ".join(message.split()).rstrip(".")
    return text[:1].lower() + text[1:]


def _bare(metavar: str) -> str:
    return metavar.strip("[].").rstrip("].")
