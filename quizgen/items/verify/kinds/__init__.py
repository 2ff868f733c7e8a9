"""The verifier's side of every question kind: name of the kind → what checks its items."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from quizgen.items.item import Item
from quizgen.items.verify.bench import Benches
from quizgen.items.verify.kinds import (
    best_next_test,
    certain_after_test,
    compute,
    covering_checks,
    fault_from_complaint,
    fault_from_readings,
    first_suspect,
    locate_short,
    predict_operation,
    predict_reading,
    safe_procedure,
    shared_path,
    trace_path,
    which_instrument,
)

Check = Callable[[Item, Benches], Iterator[str]]

CHECKS: dict[str, Check] = {
    "trace-path": trace_path.check,
    "shared-path": shared_path.check,
    "fault-from-readings": fault_from_readings.check,
    "fault-from-complaint": fault_from_complaint.check,
    "locate-short": locate_short.check,
    "compute": compute.check,
    "best-next-test": best_next_test.check,
    "certain-after-test": certain_after_test.check,
    "first-suspect": first_suspect.check,
    "covering-checks": covering_checks.check,
    "predict-reading": predict_reading.check,
    "predict-operation": predict_operation.check,
    "safe-procedure": safe_procedure.check,
    "which-instrument": which_instrument.check,
}
