"""Starts the dashboards on this computer."""

from __future__ import annotations

import hashlib
import ipaddress
import os
import socket
import sys
import tempfile
import webbrowser
from pathlib import Path
from threading import Thread

HERE = Path(__file__).resolve().parent
VIEWS = (
    (
        "Compare",
        "compare",
        "For the engineer: every kind of dryer on the same duty. Does it dry, how big, where the heat goes, what it costs.",
    ),
    (
        "Bill",
        "bill",
        "For whoever pays it: a tariff drawn, last month's bill laid beside the printed one, a year's bill line by line.",
    ),
    (
        "Capital request",
        "capital-request",
        "For the energy manager: why, how much, with what chance; the document that gets signed, as PDF, workbook and web page.",
    ),
    (
        "Walkthrough",
        "walkthrough",
        "In front of a dryer: from the few readings at hand what a kilogram takes, what is wrong, and what to read next.",
    ),
)
"""Every view: its name, its notebook's name and address, and what it is for."""
CASE_VARIABLE = "DRYER_ENERGY_CASE"
"""Environment variable that hands the case file's path to the notebook; unset means the demo case."""


def case_mark(path: str | None) -> str:
    """A mark of what the case file holds that the views open with; "demo" without one.

    The start page, which reads no case, tells by it whether a tab's case was taken from the same file.
    """
    try:
        return hashlib.sha256(Path(path).read_bytes()).hexdigest()[:16] if path else "demo"
    except OSError:  # an example by name, or a file that is gone
        return str(path)


class _Refused(Exception):
    """Nothing can be served; the message says why and what to do."""


def serve(
    case_path: Path | None, port: int, open_browser: bool, *, most_pages: int | None = None, ip: str = "127.0.0.1"
) -> int:
    """Serve the dashboards until Ctrl-C.

    Parameters
    ----------
    case_path : Path, optional
        Case file to open with, or an example by name; None opens the demo case.
    port : int
        Port to listen on; 0 takes a free one.
    open_browser : bool
        Whether to open the address in the browser.
    most_pages : int, optional
        Most pages open at once; by the memory of the computer where None.
    ip : str
        Address to listen on. Only this computer's own (loopback) addresses are served.

    Returns
    -------
    int
        Exit status: 0 after Ctrl-C, 2 when nothing could be served (one line on standard error says why).
    """
    try:
        _serve(case_path, port, open_browser, most_pages, ip)
    except _Refused as refusal:
        print(refusal, file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        pass
    return 0


def _serve(case_path: Path | None, port: int, open_browser: bool, most_pages: int | None, ip: str) -> None:
    if not _is_loopback(ip):
        raise _Refused(
            f"{ip} is not an address of this computer only, and serving others needs a password, which the "
            "dashboards do not have; use 127.0.0.1."
        )
    from energy.study.case import EXAMPLES

    if case_path is not None and not case_path.is_file() and str(case_path) not in EXAMPLES:
        raise _Refused(f"{case_path}: no such file; give the path of a case file, or none for the demo case.")
    if most_pages is not None and most_pages < 1:
        raise _Refused(f"--pages {most_pages}: nobody could open a page; choose 1 or more, or leave it out.")
    listening = _listening(port, ip)
    port = listening.getsockname()[1]
    address = f"http://{f'[{ip}]' if ':' in ip else ip}:{port}/"

    def announce() -> None:
        print(f"Dashboards: {address} (Ctrl-C stops)", flush=True)
        if open_browser:
            Thread(target=webbrowser.open, args=(address,), daemon=True).start()

    # The kernels' sockets are files here, and such a path may hold about 100 characters: the user's own
    # temporary folder can be too deep, while /tmp is there on every POSIX system.
    with tempfile.TemporaryDirectory(
        prefix="dryer-", dir="/tmp" if os.name == "posix" else None, ignore_cleanup_errors=True
    ) as scratch:
        _set_environment(case_path, scratch)
        from dashboards.places import usual_most
        from dashboards.server import run  # reads the environment, and takes its time to import

        run([HERE / f"{stem}.ipynb" for _, stem, _ in VIEWS], listening, most_pages or usual_most(), announce)


def _is_loopback(ip: str) -> bool:
    try:
        return ip == "localhost" or ipaddress.ip_address(ip).is_loopback
    except ValueError:
        return False


def _listening(port: int, ip: str) -> socket.socket:
    """A socket that listens on the port, or a refusal that says what to do."""
    if not 0 <= port <= 65535:
        raise _Refused(f"--port {port}: there is no such port; choose one from 1024 to 65535, or 0 for a free one.")
    try:
        return socket.create_server((ip, port), family=socket.AF_INET6 if ":" in ip else socket.AF_INET)
    except OSError as error:
        reason = "not permitted" if isinstance(error, PermissionError) else "in use by another program"
        raise _Refused(
            f"Port {port} on {ip} is {reason}; choose another with --port, or let --port 0 find a free one."
        ) from None


def _set_environment(case_path: Path | None, scratch: str) -> None:
    """What this process and its kernels read from the environment, in place of the user's own settings."""
    os.environ.pop(CASE_VARIABLE, None)
    if case_path is not None:
        os.environ[CASE_VARIABLE] = str(case_path.resolve() if case_path.exists() else case_path)
    _put_first("JUPYTER_PATH", HERE / "share" / "jupyter")
    if (HERE.parent / "pyproject.toml").is_file():  # a checkout: its kernels run the same code, installed or not
        _put_first("PYTHONPATH", HERE.parent)
    os.environ["JUPYTER_NO_CONFIG"] = "1"
    os.environ["JUPYTER_PREFER_ENV_PATH"] = "1"
    os.environ["JUPYTER_DATA_DIR"] = os.environ["IPYTHONDIR"] = tempfile.tempdir = scratch
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def _put_first(variable: str, folder: Path) -> None:
    rest = os.environ.get(variable)
    os.environ[variable] = str(folder) + (os.pathsep + rest if rest else "")
