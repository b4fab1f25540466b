"""Random entries, corrections and reopenings against a plain list of what was acknowledged."""

import os
import tempfile
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import uuid4

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    invariant,
    rule,
    run_state_machine_as_test,
)

from haccp.errors import Refused
from haccp.kitchen.batches import BatchOnRecord
from haccp.record.bodies import Measured, Withdrawn
from haccp.record.chain import first_misfit
from haccp.record.entries import Draft, Entry
from haccp.record.exports import from_export, to_json
from haccp.record.places import Place
from haccp.record.store import Record, open_record
from tests.servers import Running

START = datetime(2026, 10, 26, 18, 0, tzinfo=UTC)


class RecordMachine(RuleBasedStateMachine):
    """The model knows nothing of SQL: a list of acknowledged entries, and who replaced whom."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.place = self.new_place()
        self.record: Record = open_record(self.place, create=True)
        self.now = START
        self.model: list[Entry] = []
        self.replaced: dict[int, int] = {}

    def new_place(self) -> Place:
        there = list(Path(self.folder.name).iterdir())
        return Path(self.folder.name) / f"record-{len(there)}.sqlite3"

    def clock(self) -> datetime:
        return self.now

    def draft(self, temp: int, corrects: int | None = None) -> Draft:
        body = Measured(step="cool", temp=str(temp), degree="F", reason="slip" if corrects else "")
        return Draft(body=body, at=self.now, person="JM", batch="stew", corrects=corrects)

    @rule(temps=st.lists(st.integers(30, 200), min_size=1, max_size=4), minutes=st.integers(0, 90))
    def log(self, temps: list[int], minutes: int) -> None:
        self.now += timedelta(minutes=minutes)
        self.model += self.record.append([self.draft(temp) for temp in temps], self.clock)

    @rule(pick=st.integers(0, 10**6), temp=st.integers(30, 200), withdraw=st.booleans())
    def correct(self, pick: int, temp: int, withdraw: bool) -> None:
        if not self.model:
            return
        number = pick % len(self.model) + 1
        draft = self.draft(temp, number)
        if withdraw:
            draft = Draft(
                body=Withdrawn(reason="slip"),
                at=self.now,
                person="JM",
                batch="stew",
                corrects=number,
            )
        try:
            made = self.record.append([draft], self.clock)
        except Refused:
            assert number in self.replaced, "only an entry with a successor may be refused"
            return
        assert number not in self.replaced, "an entry got a second successor"
        self.replaced[number] = made[0].seq
        self.model += made

    @rule(pick=st.integers(0, 10**6))
    def try_a_batch_with_one_bad_entry(self, pick: int) -> None:
        if not self.replaced:
            return
        taken = sorted(self.replaced)[pick % len(self.replaced)]
        try:
            self.record.append([self.draft(50), self.draft(51, taken)], self.clock)
        except Refused:
            return
        raise AssertionError("half of a batch of entries was accepted")

    @rule()
    def reopen(self) -> None:
        self.record.close()
        self.record = open_record(self.place, create=False)

    @rule()
    def move_to_a_new_record_by_export(self) -> None:
        rows = list(self.record.rows())
        if not rows:
            return
        self.record.close()
        self.place = self.new_place()
        self.record = open_record(self.place, create=True)
        self.record.restore(from_export(to_json(rows).encode()))

    @invariant()
    def everything_acknowledged_is_there_in_one_chain(self) -> None:
        found = self.record.entries()
        assert [replace(entry, corrected_by=None) for entry in found] == self.model
        replaced = {one.seq: one.corrected_by for one in found if one.corrected_by}
        assert replaced == self.replaced
        assert first_misfit(self.record.rows()) is None

    @invariant()
    def in_force_is_what_has_no_successor(self) -> None:
        batch = BatchOnRecord(name="stew", entries=tuple(self.record.entries()))
        expected = [entry for entry in self.model if entry.seq not in self.replaced]
        assert batch.in_force == expected

    def teardown(self) -> None:
        self.record.close()
        self.folder.cleanup()


EXAMPLES = int(os.environ.get("HACCP_EXAMPLES", "500")) // 25

TestRecord = RecordMachine.TestCase
TestRecord.settings = settings(max_examples=EXAMPLES, stateful_step_count=25)


def test_record_on_a_server(server: Running) -> None:
    class OnServer(RecordMachine):
        def new_place(self) -> Place:
            return server.kitchen(uuid4().hex)

    run_state_machine_as_test(
        OnServer, settings=settings(max_examples=max(EXAMPLES // 4, 5), stateful_step_count=25)
    )
