"""Templates in which every word that is put in is escaped: of the sheet, the cards, the phone's file and the page.

What a template compiles to is kept beside the package's own compiled modules, so that a command need not do it again.
"""

import sys
from importlib.metadata import version
from importlib.util import cache_from_source
from pathlib import Path
from pickle import UnpicklingError

from jinja2 import BytecodeCache, Environment, FileSystemBytecodeCache, PackageLoader, StrictUndefined
from jinja2.bccache import Bucket

import tripplan
from tripplan.sheets import words


class _KeptCode(FileSystemBytecodeCache):
    """Compiled templates in a folder; where nothing can be kept, or what is kept is damaged, they are compiled anew."""

    def load_bytecode(self, bucket: Bucket) -> None:
        try:
            super().load_bytecode(bucket)
        except (OSError, EOFError, AttributeError, ImportError, LookupError, TypeError, ValueError, UnpicklingError):
            bucket.reset()

    def dump_bytecode(self, bucket: Bucket) -> None:
        try:
            Path(self.directory).mkdir(exist_ok=True)
            super().dump_bytecode(bucket)
        except OSError:
            return


def kept_code() -> BytecodeCache | None:
    """Where compiled templates are kept: in the folder of compiled modules; None where Python is to write none."""
    if sys.dont_write_bytecode:
        return None
    made_by = f"%s.tripplan-{tripplan.__version__}.jinja-{version('jinja2')}.code"
    return _KeptCode(str(Path(cache_from_source(__file__)).parent), made_by)


def templates(package: str, folder: str) -> Environment:
    """The templates in a folder of a package; a name that nobody gave is an error, never an empty word."""
    made = Environment(
        loader=PackageLoader(package, folder), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True, bytecode_cache=kept_code(),
    )  # fmt: skip
    made.filters["clean"] = words.printable
    return made
