"""`tripplan serve`: the page of one trip folder on this machine, or with --lan on the local network."""

import gc
import socket
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from tripplan.commands.status import MADE, day_of, refused, tells_refusals
from tripplan.commands.terminal import say
from tripplan.records.problems import STOPS, BadInput, Problem

if TYPE_CHECKING:
    from tripplan.web.saves.logbook_folder import Bound

from tripplan.web.access.keys import read_keys, write_keys
from tripplan.web.access.security import Access

SCHEME = "http"
LOCAL, EVERYWHERE = "127.0.0.1", "0.0.0.0"
PORT_ACCEPTED = "a port from 1024 to 65535"


@tells_refusals
def serve(folder: Path, port: int = 8765, lan: bool = False, today: str | None = None) -> int:
    """Serve the page until it is stopped; the exit status is 0, or 2 when it could not begin.

    It listens on 127.0.0.1 alone. With `lan` it listens on the network and every request
    must carry the cookie that a device is given for the pairing code that is printed.
    """
    day = day_of(today) if today else None
    try:
        import uvicorn

        from tripplan.web.app import create_app
    except ImportError as error:
        raise BadInput([_not_installed(error)]) from error
    if not 1024 <= port <= 65535:
        raise refused("A22", str(port), PORT_ACCEPTED)
    bound = _bound_to(folder) if folder.exists() and not folder.is_dir() else None
    folder = bound.folder if bound else folder
    host = EVERYWHERE if lan else LOCAL
    _try_port(host, port)
    address = f"{SCHEME}://{network_address() if lan else LOCAL}:{port}"
    access, told = access_for(folder, address if lan else "")
    app = create_app(folder, day, access, bound=bound)
    gc.freeze()  # what is loaded now stays: it need not be looked through with every save
    say("\n".join([*told, *app.state.desk.unfinished, *greeting(address, access.code if lan else "")]))
    uvicorn.run(app, host=host, port=port, log_level="warning", access_log=False, server_header=False)
    return MADE


def _bound_to(path: Path) -> "Bound":
    """The logbook of that path, laid out beside it. Raises BadInput for any other file."""
    from tripplan.web.saves.logbook_folder import Bound

    try:
        return Bound(path)
    except BadInput as error:
        if all(problem.code != "J05" for problem in error.problems):
            raise
    except OSError as why:
        raise refused("A23", f"{path.name}: {why.strerror or why}", "a folder that can be written") from why
    raise refused("A23", str(path), "a folder, a logbook, or a name not yet taken")


def access_for(folder: Path, network: str) -> tuple[Access, list[str]]:
    """Who may ask, with the keys kept in the folder, and what there is to tell about them.

    A folder without a trip in it yet is left as it is: the first visit keeps the keys.
    """
    keys, told = read_keys(folder)
    if (folder / "rig.toml").is_file():
        try:
            write_keys(folder, keys)
        except OSError as why:
            told = f"The keys of the page cannot be kept ({why.strerror or why}); they are new with each start."
    return Access(keys=keys, network=network), [told] if told else []


def greeting(address: str, code: str) -> list[str]:
    """What the terminal says: where the page is, and on the network the code that pairs a device."""
    if not code:
        return [f"The page is at {address}/", "It answers to this machine only. Stop it with Ctrl-C."]
    lines = [
        f"The page is on the local network at {address}/",
        f"Each device enters this code once: {code}. Whoever has it can read and change the trip folder.",
        "The code stays the same until a new one is made on the page Hand over.",
        "The connection is not encrypted: use it on a network you trust. Stop it with Ctrl-C.",
    ]
    return [*lines, "", *qr_lines(f"{address}/")]


def qr_lines(text: str) -> list[str]:
    """The text as a square code made of letters; nothing when the package for it is absent."""
    try:
        import segno
    except ImportError:
        return ["(install the extra `web` whole to see this as a square code)"]
    from io import StringIO

    out = StringIO()
    segno.make(text, error="m").terminal(out, compact=True, border=2)
    return out.getvalue().splitlines()


def network_address() -> str:
    """This machine's address on the network; no packet is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
            return str(probe.getsockname()[0])
        except OSError:
            return LOCAL


def _try_port(host: str, port: int) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        if sys.platform != "win32":
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            found = f"port {port}, which is taken" if error.strerror else str(port)
            raise refused("A22", found, "a port that is free; name one with --port") from error


def _not_installed(error: ImportError) -> Problem:
    return Problem(
        code="A24", weight=STOPS, file="this installation", found=f"no package {error.name}",
        accepted="the extra for the page", hint="pip install 'tripplan[web]'",
    )  # fmt: skip
