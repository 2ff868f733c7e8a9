"""All question kinds, one module each. To add one: write the module, name it here."""

from __future__ import annotations

from quizgen.items.kind import Kind
from quizgen.items.kinds import (
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

KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        trace_path.KIND,
        shared_path.KIND,
        fault_from_readings.KIND,
        fault_from_complaint.KIND,
        locate_short.KIND,
        compute.KIND,
        best_next_test.KIND,
        certain_after_test.KIND,
        first_suspect.KIND,
        covering_checks.KIND,
        predict_reading.KIND,
        predict_operation.KIND,
        safe_procedure.KIND,
        which_instrument.KIND,
    )
}
