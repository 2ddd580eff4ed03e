"""The program needs no network: nothing in it can open a connection, and the test run cannot either."""

from __future__ import annotations

import ast
import os
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from tests.no_network import NetworkError, is_blocked_by_the_kernel

ROOT = Path(__file__).resolve().parent.parent
NETWORK = {
    "aiohttp", "asyncio", "ftplib", "http", "httpx", "imaplib", "poplib", "requests", "smtplib", "socket",
    "socketserver", "ssl", "telnetlib", "urllib", "urllib3", "webbrowser", "xmlrpc",
}  # fmt: skip
QT_NETWORK = {"QtNetwork", "QtNetworkAuth", "QtWebSockets", "QtWebEngineCore", "QtHttpServer"}


def imported(tree: ast.AST) -> set[str]:
    """Return the names of all that a module imports, whole and in parts."""
    names: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names |= {part for alias in node.names for part in alias.name.split(".")[:2]}
        elif isinstance(node, ast.ImportFrom):
            names |= {*(node.module or "").split(".")[:2], *(alias.name for alias in node.names)}
    return names


def test_nothing_of_the_program_imports_what_could_reach_the_network() -> None:
    for folder in ("core", "app"):
        for path in (ROOT / folder).rglob("*.py"):
            found = imported(ast.parse(path.read_text(encoding="utf-8"))) & (NETWORK | QT_NETWORK)
            assert not found, f"{path.relative_to(ROOT)} imports {sorted(found)}"


def test_a_planted_import_is_seen() -> None:
    assert imported(ast.parse("import urllib.request")) & NETWORK
    assert imported(ast.parse("from PySide6 import QtNetwork")) & QT_NETWORK
    assert imported(ast.parse("from PySide6.QtNetwork import QTcpSocket")) & QT_NETWORK


@pytest.mark.parametrize("family", [socket.AF_INET, socket.AF_INET6])
def test_python_makes_no_socket_in_this_run(family: int) -> None:
    with pytest.raises(NetworkError):
        socket.socket(family, socket.SOCK_STREAM)
    with pytest.raises((NetworkError, OSError)):
        socket.create_connection(("127.0.0.1", 9), timeout=1)


@pytest.mark.skipif(not hasattr(socket, "AF_UNIX"), reason="this system has no such sockets")
def test_sockets_within_the_machine_still_work() -> None:
    one, other = socket.socketpair()
    one.sendall(b"x")
    assert other.recv(1) == b"x"
    one.close()
    other.close()


@pytest.mark.skipif(not is_blocked_by_the_kernel(), reason="this system's kernel cannot be asked to refuse")
def test_no_process_that_a_test_starts_gets_a_socket() -> None:
    """A fresh interpreter that knows nothing of these tests: the kernel itself refuses."""
    code = (
        "import socket\n"
        "for family in (socket.AF_INET, socket.AF_INET6):\n"
        "    try: socket.socket(family, socket.SOCK_STREAM)\n"
        "    except PermissionError: print('refused')"
    )
    env = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    done = subprocess.run(
        [sys.executable, "-I", "-c", code], env=env, capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == ["refused", "refused"]
