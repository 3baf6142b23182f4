"""The events of one step, each with the batch it belongs to and the stage that batch is in."""

from controller.batch.events import Event, EventKind
from controller.batch.stages import Stage
from controller.batch.state import RigState, Run

Figure = str | float | bool | None
"""What an event may carry, by name with unit."""


class Journal:
    """What one step has to tell, in order."""

    def __init__(self, rig: RigState) -> None:
        self._rig = rig
        self.events: list[Event] = []
        """Told so far."""

    def tell(
        self,
        kind: EventKind,
        text: str,
        run: Run | None = None,
        happened_at: float | None = None,
        **data: Figure,
    ) -> None:
        """Write one event down.

        run: the batch it is about; the one at the rig when left out
        happened_at: rig time it was true, [s]; left out, or now, means it was told as it happened
        """
        run = self._rig.run if run is None else run
        now = self._rig.now
        self.events.append(
            Event(
                at=now,
                kind=kind,
                batch=None if run is None else run.id,
                stage=None if run is None else str(run.stage),
                text=text,
                data=data,
                happened_at=None if happened_at == now else happened_at,
            )
        )

    def stage(self, run: Run, before: Stage) -> None:
        """Tell that a batch has moved on from the stage before, if it has."""
        if run.stage is not before:
            text = f"{before} ends, {run.stage} begins."
            self.tell(EventKind.STAGE, text, run, happened_at=run.since, **{"from": str(before)})
