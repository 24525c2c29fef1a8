"""A program that is stopped, or whose disk is full, at any of its file operations: in a process of its own.

Operations are counted where Python makes them: a file opened for writing, each write (a share of it is done), a sync, a
rename, a removal, a folder made, a truncation. Which files, sockets and processes a run touches is told as well.
"""

import errno
import os
import pickle
import signal
import sys
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from recover.base.errors import RecoverError
from recover.job.journal import Journal

_WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
_FAILS = {"write", "sync", "open", "rename", "mkdir"}
"""What a full disk refuses; to remove a file, or to cut it, needs no space."""


@dataclass
class Run:
    """How a run ended: `done`, `killed`, `sentence` (and which), `traceback`; what it acknowledged, and touched.

    `acknowledged`: the journal lines whose writing returned. `touched`: events of the interpreter, in their order.
    """

    end: str = "killed"
    said: str = ""
    acknowledged: list[int] = field(default_factory=list)
    touched: list[tuple[str, str]] = field(default_factory=list)
    operations: int = 0


class _Counted:
    """A file that is written to: each write is an operation, and a share of it is done before it fails."""

    def __init__(self, file, faults):
        self._file, self._faults = file, faults

    def write(self, content):
        self._faults.meet("write", lambda share: self._file.write(content[: int(len(content) * share)]))
        return self._file.write(content)

    def __getattr__(self, name):
        return getattr(self._file, name)

    def __enter__(self):
        self._file.__enter__()
        return self

    def __exit__(self, *error):
        return self._file.__exit__(*error)


class Faults:
    """Stops the program at the operation of a number, or refuses it and every later one for want of space."""

    def __init__(self, run, at, full, share):
        self.run, self.at, self.full, self.share = run, at, full, share

    def meet(self, operation, partly=lambda _share: None):
        self.run.operations += 1
        count = self.run.operations
        fails = operation in _FAILS and count >= self.at > 0 if self.full else count == self.at
        if not fails:
            return
        partly(self.share)
        if not self.full:
            os._exit(9)
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def install(self):
        """Count every operation from now on, in this process."""
        opened, synced, appended = Path.open, os.fsync, Journal.append

        def open_counted(path, mode="r", *more, **options):
            file = opened(path, mode, *more, **options)
            return _Counted(file, self) if set(mode) & set("wxa+") else file

        def sync_counted(handle):
            self.run.touched.append(("sync", str(Path(f"/proc/self/fd/{handle}").readlink())))
            self.meet("sync")
            synced(handle)

        def append_told(journal, *words, **options):
            event = appended(journal, *words, **options)
            self.run.acknowledged.append(event.n)
            self.run.touched.append(("line", str(event.n)))
            return event

        Path.open, os.fsync, Journal.append = open_counted, sync_counted, append_told
        sys.addaudithook(self._audited)

    def _audited(self, event, about):
        if event == "open" and isinstance(about[2], int) and about[2] & _WRITES:
            self.run.touched.append(("open", os.fsdecode(about[0]) if isinstance(about[0], bytes) else str(about[0])))
            self.meet("open")
        elif event in ("os.rename", "os.remove", "os.mkdir", "os.truncate"):
            self.run.touched.append((event, str(about[0])))
            self.meet(event.removeprefix("os."))
        elif event.startswith(("socket.", "subprocess.", "os.exec", "os.posix_spawn", "os.fork", "os.system")):
            self.run.touched.append((event, str(about)))


def run(work, at=0, *, full=False, share=0.5):
    """Do a work in a process of its own, stopped at operation `at` (0: not at all), and return how it ended.

    A write that is stopped has been done by a share, which may be all of it.
    """
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        _do(work, at, full, share, writing)
    os.close(writing)
    with os.fdopen(reading, "rb") as told:
        content = told.read()
    _, status = os.waitpid(child, 0)
    assert os.WIFEXITED(status), signal.Signals(os.WTERMSIG(status)).name
    return pickle.loads(content) if content else Run()


def _do(work, at, full, share, writing):
    """Work, tell how it went, and leave; a run that is killed has told what it acknowledged before."""
    told = Run()
    faults = Faults(told, at, full, share)
    leave = os._exit

    def tell(status):
        with suppress(OSError):
            os.write(writing, pickle.dumps(told))
        leave(status)

    os._exit = tell
    try:
        faults.install()
        work()
        told.end = "done"
    except (RecoverError, OSError) as error:
        told.end, told.said = "sentence", str(error)
    except BaseException as error:  # noqa: BLE001 - whatever it is, it is what is looked for
        told.end, told.said = "traceback", f"{type(error).__name__}: {error}"
    tell(0)
