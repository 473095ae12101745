"""A lamp's response written into the settings file: its own table replaced, all else left as the printer wrote it."""

import math
import re
from pathlib import Path

from timer.craft.lamp_response import LampResponse
from timer.documents.files import edit, is_there, read_text
from timer.documents.folders import folder
from timer.documents.settings import Response, Settings, UseResponse
from timer.documents.toml_io import decode_toml
from timer.errors import LamphouseError


def keep_response(found: LampResponse, use: str = "") -> Path:
    """Write ``found`` into the settings file as the response for ``use`` (empty: graded, and whatever has none of its own).

    Only that table is replaced, all else stays as it is written. LamphouseError when the result would not read back.
    """
    path = folder("config") / "settings.toml"
    name = f"lamp_response.{use}" if use else "lamp_response"
    before = read_text(path) if is_there(path) else ""
    table = re.compile(rf"(?ms)^[ \t]*\[[ \t]*{re.escape(name)}[ \t]*\][^\n]*\n?.*?(?=^[ \t]*\[|\Z)")
    kept = table.sub("", before).rstrip("\n")
    text = f"{kept}\n\n{response_toml(found, use)}" if kept else response_toml(found, use)
    wanted = UseResponse(*_rounded(found))
    try:
        read_back = decode_toml(text, Settings, str(path)).lamp_response
    except LamphouseError:
        read_back = Response()
    own = getattr(read_back, use) if use else read_back
    if own is None or any(getattr(own, key) != getattr(wanted, key) for key in UseResponse.__struct_fields__):
        raise LamphouseError(f"{path}: {name} is written there in another way; put the numbers in by hand")
    edit(path, text.encode())
    return path


def response_toml(found: LampResponse, use: str = "") -> str:
    """``found`` as a table of the settings file."""
    lines = zip(UseResponse.__struct_fields__, _rounded(found), strict=True)
    return f"[lamp_response{'.' if use else ''}{use}]\n" + "".join(f"{key} = {value}\n" for key, value in lines)


def _rounded(found: LampResponse) -> tuple[float, float, float, float]:
    # Less is rounded down, so that a lamp at the limit of what one can save still reads back.
    less = math.floor(found.less * 10_000) / 10
    return round(found.delay * 1000, 1), round(found.rise * 1000, 1), less, round(found.recovery, 3)
