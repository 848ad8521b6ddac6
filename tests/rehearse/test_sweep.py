"""Cases run anywhere give the same findings in the same order, a bounded number at a time."""

import pickle
import threading
from collections.abc import Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from multiprocessing import get_context

import pytest

from diodewright.build import load
from diodewright.faults import CORE, by_id
from diodewright.rehearse.cases import run_cases
from diodewright.rehearse.moments import snapshots
from diodewright.rehearse.sweep import TOGETHER, in_order
from diodewright.sim import EngineError, compiled, law_hash, machine, new_tally, plain

BUILD = load("smoke_tunnel")
FAULTS = [by_id(name) for name in ("stage-full-on", "set-open", "diode-open")]


def _findings(pool: Executor | None) -> list:
    return list(run_cases(BUILD, compiled(), 1, FAULTS, CORE, pool))


@pytest.fixture(scope="module")
def serial() -> list:
    return _findings(None)


def test_threads_find_what_a_serial_run_finds_in_the_same_order(serial) -> None:
    with ThreadPoolExecutor(3) as pool:
        assert _findings(pool) == serial
    assert [each.id for each in serial[::2]] == [fault.id for fault in FAULTS]


def test_processes_find_what_a_serial_run_finds_in_the_same_order(serial) -> None:
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        assert _findings(pool) == serial


@pytest.mark.filterwarnings("default")
def test_a_dask_cluster_finds_what_a_serial_run_finds_in_the_same_order(serial) -> None:
    distributed = pytest.importorskip("distributed", reason="extra [cluster] is not installed")
    cluster = distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address=None, host="127.0.0.1"
    )
    with cluster, distributed.Client(cluster) as client:
        assert _findings(client.get_executor()) == serial


class _Counting(Executor):
    """Runs at once, and counts what is out and not yet taken back."""

    def __init__(self) -> None:
        self.out = self.most = 0

    def submit(self, work, /, *jobs) -> Future:
        future: Future = Future()
        future.set_result(work(*jobs))
        self.out += 1
        self.most = max(self.most, self.out)
        return future


def test_a_long_sweep_is_drawn_as_results_are_taken() -> None:
    pool = _Counting()
    drawn: list[int] = []

    def jobs() -> Iterator[int]:
        for job in range(10_000):
            drawn.append(job)
            yield job

    for count, got in enumerate(in_order(pool, lambda job: 2 * job, jobs(), ahead=8)):
        pool.out -= count % TOGETHER == 0
        assert got == 2 * count
        assert len(drawn) - count <= 8 * TOGETHER
    assert (count, pool.most) == (9999, 8)


def test_what_a_case_raises_comes_in_its_place_and_the_rest_is_called_back() -> None:
    go, ran = threading.Event(), []

    def work(job: int) -> int:
        if job == 1:
            raise ValueError("job 1")
        if job > 1:
            go.wait(2)
            ran.append(job)
        return job

    with ThreadPoolExecutor(2) as pool:
        done = in_order(pool, work, range(100))
        assert next(done) == 0
        with pytest.raises(ValueError, match="job 1"):
            next(done)
        go.set()
    assert len(ran) < 90


@pytest.mark.parametrize("engine", [compiled, plain])
def test_a_machine_that_travelled_runs_on_to_the_same_bits(engine) -> None:
    here = snapshots(BUILD, compiled(), 1, CORE)["soft-start"].machine
    here = machine._arrived(engine().name, law_hash(), here.__reduce__()[1][2], here.now, 4)
    there = pickle.loads(pickle.dumps(here))
    assert there.engine == engine()
    for each in (here, there):
        each.run(each.now + 50, new_tally(engine(), 0.01))
    assert pickle.dumps(here) == pickle.dumps(there)


def test_a_machine_of_another_law_is_refused() -> None:
    here = snapshots(BUILD, compiled(), 1, CORE)["soft-start"].machine
    name, _, *rest = here.__reduce__()[1]
    with pytest.raises(EngineError, match="came with law 0000"):
        machine._arrived(name, "0" * 64, *rest)
