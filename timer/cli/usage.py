"""What the command line's parser complains of, in words for the printer: what is wrong, where, what would be right."""

import re
from difflib import get_close_matches

import click


def sentence(error: click.ClickException) -> str:
    """One sentence for ``error``, without a stop at its end."""
    ctx = error.ctx if isinstance(error, click.UsageError) else None
    if isinstance(error, click.MissingParameter):
        return _missing(error, ctx)
    if isinstance(error, click.BadParameter):
        where = f"{_name(error.param, ctx)}: " if error.param else ""
        return f"{where}{error.message.rstrip('.')}"
    if isinstance(error, click.NoSuchOption):
        near = get_close_matches(error.option_name, _options(ctx), 1)
        return f"there is no option {error.option_name}" + (f"; did you mean {near[0]}?" if near else _see(ctx))
    if isinstance(error, click.BadOptionUsage):
        return _without_value(error, ctx)
    return _words(error.format_message(), ctx)


def _missing(error: click.MissingParameter, ctx: click.Context | None) -> str:
    param = error.param
    if isinstance(param, click.Option) and ctx:
        return f"{_name(param, ctx)} is missing: {_name(param, ctx)} {param.make_metavar(ctx)}{_see(ctx)}"
    return f"{_name(param, ctx) if param else 'something'} is missing{_see(ctx)}"


def _without_value(error: click.BadOptionUsage, ctx: click.Context | None) -> str:
    if "does not take a value" in error.message:
        return f"{error.option_name} stands alone, without a value"
    many = re.search(r"requires (\d+) arguments", error.message)
    return f"{error.option_name} needs {f'{many[1]} values' if many else 'a value'} behind it{_see(ctx)}"


def _words(message: str, ctx: click.Context | None) -> str:
    """The rest of the parser's sentences, told by how they begin; what is not known is passed on."""
    if extra := re.fullmatch(r"Got unexpected extra arguments? \((.*)\)", message, re.DOTALL):
        return f"{extra[1]!r} is one word too many{_see(ctx)}"
    if none := re.match(r"No such command '(.*?)'", message, re.DOTALL):
        known = ctx.command.list_commands(ctx) if ctx and isinstance(ctx.command, click.Group) else []
        near = get_close_matches(none[1], known, 1)
        return f"there is no command {none[1]!r}" + (f"; did you mean {near[0]!r}?" if near else _see(ctx))
    return message.rstrip(".")


def _name(param: click.Parameter, ctx: click.Context | None) -> str:
    """An option by its long name, anything else by the word that stands for it in the usage line."""
    if isinstance(param, click.Option):
        return max(param.opts, key=len)
    assert ctx is not None
    return param.make_metavar(ctx).removesuffix("...").strip("[]'")


def _options(ctx: click.Context | None) -> list[str]:
    return [name for param in ctx.command.params for name in (*param.opts, *param.secondary_opts)] if ctx else []


def _see(ctx: click.Context | None) -> str:
    return f"; `{ctx.command_path} --help` shows how it is written" if ctx else ""
