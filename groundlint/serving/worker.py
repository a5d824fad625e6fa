"""A process beside the server that does jobs one after the other, and can be ended in the middle of one."""

from __future__ import annotations

import asyncio
import contextlib
import multiprocessing
import os
import signal
import threading
from multiprocessing.connection import Connection
from typing import Any

from groundlint.serving.jobs import Clerk, Desk
from groundlint.words.faults import fault


class GoneError(Exception):
    """The process has ended before it answered."""


class FaultError(Exception):
    """A job has failed by a fault of our own."""


_READY = "ready"


class Worker:
    """Jobs are methods of `Clerk`. A process is started when it is first needed, and again after it was ended."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._jobs: asyncio.Queue[tuple[str, tuple[Any, ...], asyncio.Future[Any]]] = asyncio.Queue()
        self._process: multiprocessing.process.BaseProcess | None = None
        self._connection: Connection | None = None
        self._answer: asyncio.Future[Any] | None = None
        self._task: asyncio.Task[None] | None = None
        self.busy_with: tuple[Any, ...] = ()
        """What the job is about that is being done."""

    async def ask(self, job: str, *args: Any) -> Any:
        """What comes of a job. `GoneError` where the process was ended meanwhile, `FaultError` where the job failed."""
        if self._task is None:
            self._task = asyncio.create_task(self._serve())
        done: asyncio.Future[Any] = asyncio.get_running_loop().create_future()
        self._jobs.put_nowait((job, args, done))
        return await done

    def warm(self) -> None:
        """Starts the process before it is needed."""
        if self._task is None:
            self._task = asyncio.create_task(self._serve())

    def end(self) -> None:
        """Ends the process, whatever it is doing."""
        if self._process is not None:
            self._process.kill()

    def stop(self) -> None:
        """Ends the process for good: the jobs that wait are not done."""
        if self._task is not None:
            self._task.cancel()
        self.end()

    async def _serve(self) -> None:
        """Hands out the jobs. One at a time: what is sent to a process that does not read would stop the server."""
        with contextlib.suppress(GoneError):
            await self._started()
        while True:
            job, args, done = await self._jobs.get()
            if done.done():  # nobody waits for it any more
                continue
            try:
                self.busy_with = args
                connection = await self._started()
                answer = self._next()
                connection.send((job, args))
                found = await answer
            except (GoneError, OSError) as error:
                self._process = None
                found = GoneError(str(error))
            except Exception as error:  # what can't be sent; the jobs after it still can
                found = FaultError(fault(error))
            self.busy_with = ()
            if done.done():
                continue
            if isinstance(found, Exception):
                done.set_exception(found)
            else:
                done.set_result(found)

    async def _started(self) -> Connection:
        """The connection to a process that is ready."""
        if self._process is None or self._connection is None:
            context = multiprocessing.get_context("spawn")
            self._connection, theirs = context.Pipe()
            self._process = context.Process(target=work, args=(theirs, self.desk), daemon=True)
            ready = self._next()
            self._process.start()
            theirs.close()
            threading.Thread(
                target=self._listen, args=(self._connection, asyncio.get_running_loop()), daemon=True
            ).start()
            await ready
        return self._connection

    def _next(self) -> asyncio.Future[Any]:
        self._answer = asyncio.get_running_loop().create_future()
        return self._answer

    def _listen(self, connection: Connection, loop: asyncio.AbstractEventLoop) -> None:
        """Takes answers, in a thread of its own."""
        while True:
            try:
                found: Any = connection.recv()
            except (EOFError, OSError):
                found = GoneError("the process has ended")
            with contextlib.suppress(RuntimeError):  # the server has ended
                loop.call_soon_threadsafe(self._take, connection, found)
            if isinstance(found, GoneError):
                return

    def _take(self, connection: Connection, found: Any) -> None:
        answer = self._answer
        if connection is not self._connection:
            return
        if answer is not None and not answer.done():
            if isinstance(found, GoneError):
                answer.set_exception(found)
            else:
                answer.set_result(found)
        elif isinstance(found, GoneError):  # it ended while it had nothing to do
            self._process = None


def work(connection: Connection, desk: Desk) -> None:
    """The process's own life: it ends when the server does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the server gets it too, and ends this one
    os.dup2(2, 1)  # standard output belongs to the editor
    desk.start()
    clerk = Clerk(desk)
    connection.send(_READY)
    while True:
        try:
            job, args = connection.recv()
        except EOFError:
            return
        answer: Any
        try:
            answer = getattr(clerk, job)(*args)
        except Exception as error:  # a fault of our own must not end the process, nor pass for a review
            answer = FaultError(fault(error))
        connection.send(answer)
