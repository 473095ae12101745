"""Settings read from TOML in the user's folder."""

from timer.documents.files import is_there, read_text
from timer.documents.folders import folder
from timer.documents.settings import USES, Settings, in_seconds
from timer.documents.toml_io import decode_toml
from timer.errors import LamphouseError


def load_settings() -> Settings:
    """The settings file, or the defaults where there is none."""
    path = folder("config") / "settings.toml"
    if not is_there(path):
        return Settings()
    return _parsed(read_text(path), str(path))


def _parsed(text: str, where: str) -> Settings:
    settings = decode_toml(text, Settings, where)
    for use in ("", *USES):
        found = getattr(settings.lamp_response, use) if use else settings.lamp_response
        try:
            if found:
                in_seconds(found)
        except ValueError as error:
            raise LamphouseError(f"{where}: lamp_response{'.' if use else ''}{use}: {error}") from None
    return settings
