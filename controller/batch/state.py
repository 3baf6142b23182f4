"""What the engine remembers: plain data that a restart can read back, and the only mutable thing
in this room.

Rig time throughout. A list holds what a fixed figure cannot; nothing here is worked out again
from something else here.
"""

from dataclasses import dataclass, field

from controller.batch.acts import ActKind
from controller.batch.alarm_state import AlarmState, Watch
from controller.batch.contacts import Contacts
from controller.batch.stages import HALTED, Form, Stage, Trigger, after
from controller.planning.sheet import BatchSheet, Coat


@dataclass(slots=True)
class LampState:
    """The lamp's relay and the guards that watch what it does to the board."""

    on: bool = False
    """Commanded on."""
    changed_at: float | None = None
    """When the command last changed."""
    seconds: dict[str, float] = field(default_factory=dict)
    """Lamp-on time by side of the board, 'A' or 'B', [s]."""
    side: str = "A"
    """The side under the lamp."""
    flipping: bool = False
    """The board is being turned: FLIP was pressed and FLIPPED was not."""
    proof_from: float | None = None
    """When the proof pulse began; None before it."""
    proof_start: float | None = None
    """Lowest probe reading since, [K]."""
    proved: bool = False
    """The probe saw the lamp."""
    highest: float | None = None
    """Highest reading since the lamp came on, [K]."""
    lowest: float | None = None
    """Lowest reading since the highest, [K]."""
    rise_from: float | None = None
    """Start of the no-rise watch."""
    rise_start: float | None = None
    """Reading then, [K]."""
    last_value: float | None = None
    """The reading taken as good last, [K]."""
    odd: int = 0
    """Samples in a row that jumped away from it."""
    over: int = 0
    """Samples in a row at or over the trip."""
    same_from: float | None = None
    """Since when the reading has been the very same value."""
    same_value: float | None = None
    """That value, [K]."""
    same_least: float = 0.0
    """Least the estimate expected of the probe since then, [K]."""
    same_most: float = 0.0
    """Most it did, [K]."""
    astray: int = 0
    """Readings in a row far under what the estimate expects."""
    astray_from: float = 0.0
    """Before this they do not count: the lamp was just proved, or the readings had a gap."""
    flux_let_pass: float = 0.0
    """Strongest lamp that stopped a heat and was armed again, [W/m2]."""
    closed_at: float | None = None
    """When the relay was told to close last."""
    last_sample_at: float | None = None
    """Rig time of the sample looked at last, so that none counts twice."""
    off_from: float | None = None
    """When the proof that the lamp went off takes its first reading."""
    off_reading: float | None = None
    """That reading, [K]."""
    off_last: float | None = None
    """The reading looked at last in that proof, [K]."""
    off_last_at: float | None = None
    """When it was measured."""
    burns_on: bool = False
    """That proof found the lamp still burning."""
    seen_at: float | None = None
    """When the infrared reading looked at last was measured."""
    seen: float | None = None
    """The last face seen from afar that was apart from the probe's, [K]."""
    apart: int = 0
    """Infrared readings in a row that were."""
    look_from: float | None = None
    """Since when the lamp pauses for the wired infrared thermometer."""
    looked_at: float | None = None
    """When such a pause ended last, or as if it had."""
    looks: int = 0
    """Readings taken in it."""
    blind: bool = False
    """The last such pause gave no readings."""
    gun_asked_at: float | None = None
    """Since when the lamp pauses for an infrared gun; None before it did in this heat and face."""
    gun_over: bool = False
    """The gun was read, or waited for long enough."""
    gun_apart: bool = False
    """It was read in this step, and far from the probe."""


@dataclass(slots=True)
class PullState:
    """What the pump's runs have told of the bag."""

    lowest: float | None = None
    """How far the present run got, [Pa]."""
    lowest_at: float | None = None
    """When it last got further."""
    piece_at: float | None = None
    """When the piece of the run began whose rate comes next."""
    piece_pressure: float | None = None
    """Pressure then, [Pa]."""
    quickest: float | None = None
    """The fastest this bag was drawn down when it was first pulled, [1/s]."""
    learnt: bool = False
    """That pull is over: later ones are held against it."""
    small: bool = False
    """The newest piece was far faster: the pump feels less than the bag."""


@dataclass(slots=True)
class BagState:
    """The bag and its pump."""

    pump_on: bool = False
    """Commanded on."""
    pump_changed_at: float | None = None
    """When the command last changed."""
    starts: list[float] = field(default_factory=list)
    """Pump starts of the last hour."""
    reached: bool = False
    """The target was reached since the bag was sealed."""
    tried_from: float | None = None
    """Since when it has been pulled to reach it, rests of the pump included."""
    stretch_from: float | None = None
    """Start of the present pump-off stretch."""
    times: list[float] = field(default_factory=list)
    """Times of the stretch's samples, thinned, [s]."""
    pressures: list[float] = field(default_factory=list)
    """Bag pressure then, [Pa]."""
    rise: float | None = None
    """Rise in the present or last stretch, [Pa/s]."""
    verdict: str = "not tested"
    """'tight', 'leaking', 'cannot tell yet' or 'not tested'."""
    retest_at: float | None = None
    """When the leak gate is asked again."""
    dry_rise: float | None = None
    """Rise of the dry pull, [Pa/s]."""
    accepted_rise: float | None = None
    """Rise the leak gate let pass; the hold is judged against it, [Pa/s]."""
    leak: float | None = None
    """Rise of a hold that was found to leak, until a stretch shows it tight again, [Pa/s]."""
    lost_since: float | None = None
    """Since when the gauge has given no good reading."""
    prove_by: float | None = None
    """After a restart: by when the gauge must prove the bag before the pump may run."""
    same_value: float | None = None
    """The gauge's newest figure, [Pa]."""
    same_from: float | None = None
    """Since when it has been the very same figure."""
    frozen: bool = False
    """The pump ran and the figure did not move."""
    rest_from: float | None = None
    """Since when the pump is told off and the bag is watched for it."""
    rest_first: float | None = None
    """The first pressure looked at in that rest, [Pa]."""
    rest_lowest: float | None = None
    """The lowest since, [Pa]."""
    runs_on: bool = False
    """The bag was seen to go on as if the pump ran, though it was told off."""

    pull: PullState = field(default_factory=PullState)
    """What the pump's runs have told."""

    def anew(self, dry_rise: float | None) -> "BagState":
        """A bag about to be sealed; the pump's motor remembers when it last started and stopped.

        dry_rise: rise of the dry pull to judge it by, [Pa/s]
        """
        return BagState(
            pump_on=self.pump_on,
            pump_changed_at=self.pump_changed_at,
            starts=self.starts,
            dry_rise=dry_rise,
            pull=PullState(quickest=self.pull.quickest, learnt=self.pull.learnt),
        )


@dataclass(slots=True)
class Run:
    """One batch on its way through the order of work."""

    id: str
    sheet: BatchSheet
    coat_index: int
    stage: Stage
    since: float
    form: Form | None = None
    left: Stage | None = None
    outcome: str | None = None
    place: str | None = None
    stop_cause: str | None = None
    """Why it was halted, in a few words."""
    word_at: float | None = None
    """When a person last said they are there."""
    unplugged: bool = False
    """The lamp's plug is out."""
    thinner_open: bool = False
    """The thinner was opened in this coat."""
    probe_off: bool = False
    """The face probe was taken off for coating."""
    started_at: float | None = None
    """When START was pressed."""
    mixed_at: float | None = None
    coating_at: float | None = None
    coated_at: float | None = None
    sealed_at: float | None = None
    lamp_off_at: float | None = None
    """When the lamp went off for the cool-down."""
    mean_at_off: float | None = None
    """Estimated mean of the board then, [K]."""
    coat_called_at: float | None = None
    """When COAT NOW first sounded."""
    film_off_at: float | None = None
    """When the solvent got free way into the room."""
    used: float | None = None
    """Mass of mix on the board, [kg]."""
    age: float = 0.0
    """Equivalent age of the mix at the resin's reference temperature, [s]."""
    conversion: float = 0.0
    """Share of the resin's bonds made, by the kinetic model, [-]."""
    passed: dict[str, float] = field(default_factory=dict)
    """When the resin passed its gel and opening ages, by the resin's field."""
    gelled: bool = False
    """The late end of the gel range was passed and told."""
    may_open: bool = False
    """The early end of the opening range was passed and told."""
    cold_since: float | None = None
    """Since when it has been too cold to set."""
    film: float | None = None
    """Temperature the age was last reckoned at, [K]."""
    warmth: list[tuple[float, float]] = field(default_factory=list)
    """(when, how much hotter the film was than the room, [K]), the last minutes."""
    heats_itself: bool = False
    """The film was seen to get hotter by itself."""
    outage: float | None = None
    """Length of the last outage while it was in hand, [s]; None when unknown or never."""
    flashed: float = 0.0
    """Observed time without film at the solvent's reference temperature, [s]."""
    weigh_ins: list[tuple[float, str, float]] = field(default_factory=list)
    """(when, what, kg)."""
    heat: dict[str, list[float]] | None = None
    """The heat estimate, as it stands."""
    lamp: LampState = field(default_factory=LampState)
    bag: BagState = field(default_factory=BagState)

    @property
    def coat(self) -> Coat:
        """The coat in hand."""
        return self.sheet.coats[self.coat_index]

    def move(self, now: float, why: ActKind | Trigger, at: float | None = None) -> None:
        """Go to the stage that follows, as the table says. Raises StageError if it has none.

        at: rig time it happened, where it was told late, [s]
        """
        stage = after(self.stage, why, self.left)
        if stage in HALTED and self.stage not in HALTED:
            self.left = self.stage
        elif stage not in HALTED:
            self.left = self.stop_cause = None
        self.stage, self.since = stage, now if at is None else at

    @property
    def at_work(self) -> Stage | None:
        """The stage, or the one that was left where the work is halted."""
        return self.left if self.stage in HALTED else self.stage

    def mix_is_solvent(self) -> bool:
        """The resin comes in solvent: mixing it opens what a thinner would."""
        return self.coat.mix.carried > 0

    def has_set(self) -> bool:
        """The late end of the gel range has passed: vacuum matters no more."""
        return self.age >= self.coat.resin.gel_late

    def may_have_gelled(self) -> bool:
        """The early end of the gel range has passed: nothing moves for sure any more."""
        return self.age >= self.coat.resin.gel_early


@dataclass(slots=True)
class Zone:
    """The place under and around the lamp, and the solvent in it."""

    wet: bool = False
    """Thinner was opened or a board was coated, and the zone is not clear yet."""
    tidied_at: float | None = None
    """Thinner shut, cup out, purge started."""
    out_at: float | None = None
    """The coated work went out, or its solvent did."""


@dataclass(slots=True)
class RigState:
    """Everything the engine knows."""

    now: float
    """Rig time of the last step."""
    run: Run | None = None
    """The batch at the rig."""
    aside: list[Run] = field(default_factory=list)
    """Batches moved out to flash off."""
    zone: Zone = field(default_factory=Zone)
    senses: Contacts = field(default_factory=Contacts)
    alarms: list[AlarmState] = field(default_factory=list)
    """Those that are not normal."""
    watches: dict[str, Watch] = field(default_factory=dict)
    """Alarms whose cause comes, goes or chatters, by name."""
    muted_until: float | None = None
    restarts: list[float] = field(default_factory=list)
    """When the controller came back, the last ten minutes."""
    rest_until: float | None = None
    """It came back too often: no output is switched on before, [s]."""
    day_check_at: float | None = None
    """When the day's first-heat check was confirmed; None too when nobody knows how long ago."""
    stop_down: bool = False
    """The wired STOP button was down in the last step."""
    lamp_by_hand: bool = False
    """A lamp that is switched by hand was told on."""
    pump_by_hand: bool = False
    """A pump that is switched by hand was told on."""
    told: dict[str, tuple[float, float]] = field(default_factory=dict)
    """Readings told by hand: role to (value SI, rig time)."""
