"""The frozen trial and its frozen judgement. Run as a module to freeze anew, after METHOD was raised:

    python -m tests.judge.frozen

The trial stands in tests/files/frozen-trial.json as plain numbers, so that no generator can change it: two sensors
over 12 days (one every 5 min in mg/dL, one every 15 min in mmol/L), two wears each, 100 sticks of every reason, a
calibration, a mark set later, planned repeats, readings beyond the limits, a gap.
"""

from __future__ import annotations

import json
from pathlib import Path

from tests.compare.making import readings, sensor, stick, trial, wear

from evenhand.findings import edge
from evenhand.judge.judge import judge
from evenhand.records.diary import Mark, MarkKind, Reason
from evenhand.records.sensors import CountsFrom, Ending
from evenhand.units import Beyond, Glucose, Unit

FILES = Path(__file__).parent.parent / "files"
TRIAL, FINDINGS = FILES / "frozen-trial.json", FILES / "frozen-findings.json"


def frozen_trial():
    """The trial of tests/files/frozen-trial.json."""
    data = json.loads(TRIAL.read_text(encoding="utf-8"))
    made = [
        sensor(
            one["name"], place, interval=one["interval"], warm_up=one["warm_up"], life=one["life"], price=one["price"],
            counts_from=CountsFrom.START, low=Glucose(40, Unit.MG_DL, "40"), high=Glucose(400, Unit.MG_DL, "400"),
        )
        for place, one in enumerate(data["sensors"])
    ]  # fmt: skip
    streams = {
        one.id: readings(stream["at"], stream["value"], Unit(stream["unit"]), stream["flag"])
        for one, stream in zip(made, data["readings"], strict=True)
    }
    wears = [
        wear(each["sensor"], each["start"], each["end"], lot=each["lot"], ending=Ending.END)
        for each in data["wears"]
    ]
    sticks = [
        stick(
            each["at"], each["value"], Reason(each["reason"]), id=f"s{number}", into=each.get("into"),
            repeat=each.get("repeat", False), beyond=Beyond(each["beyond"]) if "beyond" in each else None,
            marks=(Mark(MarkKind.UNWASHED, early=False),) if each.get("marked") else (),
        )
        for number, each in enumerate(data["sticks"])
    ]  # fmt: skip
    return trial(made, wears, sticks, streams)


def frozen_findings():
    """The judgement frozen beside it."""
    return json.loads(FINDINGS.read_text(encoding="utf-8"))


def freeze():
    """Write the judgement of today."""
    FINDINGS.write_bytes(edge.to_json(judge(frozen_trial())) + b"\n")


if __name__ == "__main__":
    freeze()
