"""Strip and build as plain data for JSON: names without a unit are SI."""

from pullcurve.papers.record import Record
from pullcurve.studies.steps import TRAPS, Step, Steps
from pullcurve.studies.tightening import torque_note


def steps_record(steps: Steps) -> Record:
    """A whole sequence: what is needed, and every line in order with its act, tool, torque and traps."""
    return {
        "task": steps.task,
        "name": steps.name,
        "unit": steps.unit,
        "hardware": steps.hardware,
        "note": steps.note,
        "cautions": list(steps.cautions),
        "tools": list(steps.tools),
        "consumables": list(steps.consumables),
        "tool_pick_ups": steps.pick_ups,
        "fewest_pick_ups": steps.exact,
        "lines": [_line(step) for step in steps.lines],
        "build_rules": list(steps.kept),
        "torque_note": torque_note(),
        "units": {"torque": "N m", "torque_most": "N m"},
    }


def _line(step: Step) -> Record:
    tight = step.torque
    return {
        "number": step.number,
        "act": step.act,
        "ticked": step.ticked,
        "words": step.words,
        "piece": step.piece,
        "tool": step.tool,
        "screws": step.screws,
        "torque": None if tight is None else tight.torque,
        "torque_most": None if tight is None else tight.most,
        "consumables": list(step.uses),
        "cautions": [
            {"trap": one.trap, "called": TRAPS[one.trap], "words": one.words} for one in step.cautions
        ],
    }
