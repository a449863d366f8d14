"""What a shell offers while a route or a session is typed: the names in the workspace, and files."""

from __future__ import annotations

from pathlib import Path

from fieldtui.cli.places import make_disk
from fieldtui.core.text import is_clean


class NamesIn:
    """Completes the names in one folder of the workspace here, and paths."""

    def __init__(self, folder: str) -> None:
        self._folder = folder

    def __call__(self, prefix: str, **_: object) -> list[str]:
        from argcomplete.completers import FilesCompleter

        try:
            listed = make_disk().list_folder(Path(self._folder))
        except OSError:
            listed = []  # no workspace here: paths are all there is
        names = [name.removesuffix(".toml") for name in listed if is_clean(name)]
        return [name for name in names if name.startswith(prefix)] + list(FilesCompleter()(prefix))
