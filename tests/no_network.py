"""Keeps the whole test run, and every process that it starts, off the network.

On Linux the kernel itself refuses internet sockets from here on, for Python, for Qt and other libraries, and
for all child processes (a seccomp filter, which cannot be taken off again). Everywhere, and with a clearer
message, Python's own sockets refuse to be made. What the filter's numbers mean: `man 2 seccomp`, the
kernel's headers linux/filter.h, linux/seccomp.h and linux/audit.h.
"""

from __future__ import annotations

import ctypes
import errno
import platform
import socket
import struct
import sys
from typing import Any

MACHINES = {"x86_64": (0xC000003E, 41), "aarch64": (0xC00000B7, 198)}
"""Machine: the kernel's mark of it (AUDIT_ARCH), and its number of the call `socket`."""

LOAD, JUMP_IF_EQUAL, RETURN = 0x20, 0x15, 0x06
ALLOW, REFUSE = 0x7FFF0000, 0x00050000 | errno.EACCES
CALL_AT, MACHINE_AT, FAMILY_AT = 0, 4, 16
INET, INET6 = 2, 10
NO_NEW_PRIVILEGES, SET_FILTER, FILTER_MODE = 38, 22, 2


class NetworkError(RuntimeError):
    """The program, or a test, asked for the network."""


class _Program(ctypes.Structure):
    _fields_ = (("length", ctypes.c_ushort), ("steps", ctypes.c_void_p))


def block() -> None:
    """Refuse the network to this process and its children."""
    _refuse_in_python()
    _refuse_in_the_kernel()


def is_blocked_by_the_kernel() -> bool:
    """Return whether this system can refuse sockets by itself, and does."""
    machine = MACHINES.get(platform.machine())
    if sys.platform != "linux" or machine is None:
        return False
    handle = ctypes.CDLL(None, use_errno=True).socket(INET, 1, 0)
    if handle >= 0:
        import os

        os.close(handle)
    return bool(handle < 0)


def _refuse_in_python() -> None:
    real = socket.socket.__init__

    def refusing(self: socket.socket, family: int = -1, *rest: Any, **more: Any) -> None:
        if family in (-1, socket.AF_INET, socket.AF_INET6) and more.get("fileno") is None and len(rest) < 3:
            raise NetworkError(f"a socket of family {family} was asked for; this program needs no network")
        real(self, family, *rest, **more)

    socket.socket.__init__ = refusing  # type: ignore[method-assign]


def _refuse_in_the_kernel() -> None:
    """Load the filter: a call of `socket` for the internet fails with EACCES, all else is as it was."""
    machine = MACHINES.get(platform.machine())
    if sys.platform != "linux" or machine is None:
        return
    mark, number = machine
    steps = (
        (LOAD, 0, 0, MACHINE_AT),
        (JUMP_IF_EQUAL, 0, 6, mark),
        (LOAD, 0, 0, CALL_AT),
        (JUMP_IF_EQUAL, 0, 4, number),
        (LOAD, 0, 0, FAMILY_AT),
        (JUMP_IF_EQUAL, 1, 0, INET),
        (JUMP_IF_EQUAL, 0, 1, INET6),
        (RETURN, 0, 0, REFUSE),
        (RETURN, 0, 0, ALLOW),
    )
    packed = ctypes.create_string_buffer(b"".join(struct.pack("=HBBI", *step) for step in steps))
    program = _Program(len(steps), ctypes.cast(packed, ctypes.c_void_p))
    libc = ctypes.CDLL(None, use_errno=True)
    if libc.prctl(NO_NEW_PRIVILEGES, 1, 0, 0, 0) == 0:
        libc.prctl(SET_FILTER, FILTER_MODE, ctypes.byref(program), 0, 0)  # where it may not be set: Python's
