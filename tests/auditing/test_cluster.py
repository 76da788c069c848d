"""Audits on a real scheduler and real workers on this machine, one of which is killed in the middle."""

from __future__ import annotations

import json
import os
import random
import socket
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable
from concurrent.futures import CancelledError, Executor, Future
from pathlib import Path
from typing import NamedTuple

import pytest
from distributed import KilledWorker
from distributed.comm import CommClosedError

from seamtree.auditing.cluster import ClusterError, ClusterExecutor, cluster_executor
from seamtree.auditing.executor import CrashedError, KilledError, TimeUpError
from seamtree.auditing.run import Limits
from seamtree.errors import OptionError
from tests.auditing.helps import kept, wait_for
from tests.support.effort import times

CATALOGUE = Path(__file__).parents[2] / "samples" / "catalogue"
QUIET = {**os.environ, "DASK_DISTRIBUTED__LOGGING__DISTRIBUTED": "critical"}


class Cluster(NamedTuple):
    """Where a scheduler listens, how to start a worker or another scheduler, and the process of the scheduler."""

    address: str
    worker: Callable[[], subprocess.Popen]
    schedule: Callable[[], subprocess.Popen]
    scheduler: subprocess.Popen


@pytest.fixture
def cluster(tmp_path):
    """Start a scheduler, hand out what a test needs of it, end all processes."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        address = f"tcp://127.0.0.1:{free.getsockname()[1]}"
    started = []

    def start(*arguments):
        log = (tmp_path / f"{len(started)}.log").open("w")
        with log:
            process = subprocess.Popen(
                [sys.executable, "-m", "distributed.cli." + arguments[0], *arguments[1:]],
                stdout=log, stderr=log, env=QUIET, cwd=tmp_path, start_new_session=True,
            )  # fmt: skip
        started.append(process)
        return process

    def worker():
        return start("dask_worker", address, "--nthreads", "1", "--no-nanny", "--no-dashboard", "--host", "127.0.0.1")

    def schedule():
        port = address.rsplit(":", 1)[1]
        process = start("dask_scheduler", "--host", "127.0.0.1", "--port", port, "--no-dashboard")
        wait_for(lambda: listens(int(port)), process)
        return process

    yield Cluster(address, worker, schedule, schedule())
    for process in started:
        process.kill()
        process.wait(timeout=30)


def listens(port):
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0


def audit(*arguments, store):
    command = [sys.executable, "-m", "seamtree_cli.main", "audit", *arguments, "--store", str(store)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, encoding="utf-8")


def test_killed_at_random_moments_it_says_what_it_says_here(cluster, tmp_path):
    """Some times a worker, then the scheduler; the results are the same byte for byte."""
    address, worker, schedule, scheduler = cluster
    rng = random.Random(20)
    here, _ = audit(str(CATALOGUE), "--json-lines", "-", store=tmp_path / "here.sqlite").communicate(timeout=90)
    store = tmp_path / "cluster.sqlite"
    arguments = (str(CATALOGUE), "--cluster", address, "--json-lines", "-")
    working = worker()
    process = audit(*arguments, store=store)
    for least in sorted(rng.sample(range(1, 40), times(2, 4))):
        wait_for(lambda least=least: kept(store) >= least, process)
        working.kill()
        working = worker()
    for least in sorted(rng.sample(range(45, 75), times(1, 2))):
        wait_for(lambda least=least: kept(store) >= least, process)
        scheduler.kill()
        working.kill()
        out, errors = process.communicate(timeout=90)
        assert process.returncode == 2
        assert len(out.splitlines()) == 86  # the file that says what the drawings are is skipped
        states = Counter(json.loads(line)["state"] for line in out.splitlines())
        lost = states["not audited"]
        # A drawing whose worker was killed and killed again is told as one that crashes, and is not kept either.
        assert states["audited"] + states["faulty"] == kept(store)
        assert lost + states["crashed"] == 85 - kept(store)
        assert f"the scheduler at {address} has gone: {lost} drawing" in errors
        scheduler, working = schedule(), worker()
        process = audit(*arguments, store=store)
    out, errors = process.communicate(timeout=90)
    assert process.returncode == 2, errors  # some drawings are faulty
    assert out == here
    assert len(out.splitlines()) == 86  # the file that says what the drawings are is skipped


def test_limits_hold_on_a_worker_and_it_lives_on(cluster):
    address, worker, *_ = cluster
    process = worker()
    with cluster_executor(address, limits=Limits(seconds=1, megabytes=300)) as executor:
        wrong = {
            executor.submit(time.sleep, 3600): TimeUpError,
            executor.submit(bytearray, 2_000_000_000): MemoryError,
            executor.submit(os._exit, 3): CrashedError,
        }
        right = executor.submit(abs, -3)
        for future, kind in wrong.items():
            assert type(future.exception(timeout=60)) is kind
        assert right.result(timeout=60) == 3
    assert process.poll() is None


def test_a_scheduler_that_goes_away_ends_the_audit(cluster, tmp_path):
    address, worker, *_ = cluster
    worker()
    store = tmp_path / "cluster.sqlite"
    process = audit(str(CATALOGUE), "--cluster", address, "--json-lines", "-", store=store)
    wait_for(lambda: kept(store) >= 5, process)
    cluster.scheduler.kill()
    out, errors = process.communicate(timeout=90)
    assert process.returncode == 2
    assert "Traceback" not in errors
    states = [json.loads(line)["state"] for line in out.splitlines()]
    assert 5 <= sum(state in ("audited", "faulty") for state in states) == kept(store) < 85
    assert {"audited", "not audited"} <= {*states} <= {"audited", "faulty", "not audited", "skipped"}
    lost = states.count("not audited")
    assert f"{lost} drawings were not audited" in errors
    rows = [line for line in errors.splitlines() if "whoever worked on it" in line]
    assert len(rows) <= 1  # one line, not one for each
    assert "internal error" not in out


class Answering(Executor):
    """Stands for the executor of a client: every call ends as it is told."""

    def __init__(self, *, result=None, error=None, refuses=None):
        self.result, self.error, self.refuses = result, error, refuses

    def submit(self, fn, /, *args, **kwargs):
        if self.refuses is not None:
            raise self.refuses
        future = Future()
        if self.error is None:
            future.set_result(self.result)
        else:
            future.set_exception(self.error)
        return future


@pytest.mark.parametrize(
    ("answer", "connected", "kind"),
    [
        ({"error": CommClosedError("closed")}, True, CancelledError),  # the client does not know it yet
        ({"error": TimeoutError()}, True, CancelledError),
        ({"error": RuntimeError("no loop")}, False, CancelledError),
        ({"error": ModuleNotFoundError("No module named 'seamtree'")}, True, ModuleNotFoundError),
        ({"error": KilledWorker("a", None, 3)}, True, KilledError),
        ({"result": (None, OSError("of the call"))}, True, OSError),
        ({"result": (None, MemoryError())}, False, MemoryError),
        ({"refuses": CommClosedError("closed")}, True, CancelledError),
        ({"refuses": RuntimeError("closed")}, False, CancelledError),
    ],
)
def test_a_lost_scheduler_is_told_apart_from_a_call_that_fails(answer, connected, kind):
    executor = ClusterExecutor(Answering(**answer), lambda: connected, Limits())
    try:
        assert type(executor.submit(abs, -3).exception(timeout=60)) is kind
    finally:
        executor.shutdown()


def test_a_cluster_that_is_none_is_told(cluster, tmp_path, monkeypatch):
    monkeypatch.setattr("seamtree.auditing.cluster.PATIENCE", 0.5)
    with pytest.raises(ClusterError, match="has no workers"), cluster_executor(cluster.address, limits=Limits()):
        pass
    with socket.socket() as busy:
        busy.bind(("127.0.0.1", 0))
        silent = f"tcp://127.0.0.1:{busy.getsockname()[1]}"
        with pytest.raises(ClusterError, match="does not answer"), cluster_executor(silent, limits=Limits()):
            pass
    for address in ("rowing://boat", "tcp://127.0.0.1:port"):
        with pytest.raises(OptionError, match="is no address"), cluster_executor(address, limits=Limits()):
            pass
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(OptionError, match=r"seamtree\[cluster\]"), cluster_executor(silent, limits=Limits()):
        pass
