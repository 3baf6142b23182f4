"""What everybody is shown: the whole state of the rig at one moment, as plain data.

The page, the shell and the scripted operator see this and nothing else. Units stand in the names:
degC, Pa absolute, seconds, kg where no other is named. Times are rig time; `told_utc` ties `now`
to the calendar, so a clock for people is told_utc + (time - now). Only a sentence's quantities are
already in the units that `quantities.say` and the page's own words take.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A figure inside a sentence; the shown unit is the reader's choice."""

    kind: str
    """temperature, temperature_difference, vacuum, pressure_abs, pressure_rate, duration, mass,
    percent, volume or clock."""
    value: float
    """K, K, Pa below air, Pa, Pa/s, s, kg, 1 = 100 %, m3, seconds since 1970 UTC."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sentence:
    """Words with {named} gaps for quantities."""

    text: str
    """For example 'Holding at {bag}.'"""
    values: dict[str, Quantity]
    """One for each gap."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A reading as it may be shown: a number is never shown without its age."""

    value: float | None
    """None when there is nothing fit to show."""
    age_s: float | None
    """How old it is at `now`, [s]."""
    source: str
    """'probe', 'estimate', 'by hand' or 'lost'."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OutputShown:
    """The lamp or the pump."""

    on: bool
    """Commanded on."""
    wiring: str
    """'wired', 'by hand' or 'absent'."""
    word: str
    """'on', 'off', 'off, locked', 'switch it on', 'switch it off'."""
    why: str
    """Why it is as it is, in a few words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Press:
    """An act that is open to the person now."""

    act: str
    """The act's name, which is also what stands on the button."""
    says: str
    """What pressing it tells, in a few words."""
    asks: dict[str, str]
    """What it may carry, by name with unit, and what that is."""
    due: bool
    """The work waits for it."""
    hold: bool
    """To be held down for a second: it cannot be taken back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmShown:
    """One alarm that is not normal."""

    id: str
    """Name in the alarm table."""
    priority: str
    """'P1', 'P2' or 'P3'."""
    state: str
    """'unacknowledged', 'acknowledged', 'returned', 'latched', 'shelved' or 'suppressed'."""
    since: float
    """Rig time it was raised."""
    follows: str | None
    """Name of the alarm that came first, where this one came shortly after it."""
    shelve: Press | None
    """The press that puts it aside, where that is open."""
    shelved_until: float | None
    """Rig time it comes back, of one that is put aside."""
    says: Sentence
    """What is wrong."""
    cause: str
    """What usually makes it so."""
    do: str
    """What to do about it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """Something the calendar should hold."""

    what: str
    """In the trade's words."""
    at: float
    """Rig time."""
    until: float | None
    """Rig time of the late end, where it is a range."""
    batch: str
    """Whose."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatShown:
    """The board and its lamp."""

    band_low_c: float
    band_high_c: float
    """The preheat band."""
    window_low_c: float
    window_high_c: float
    """The coat window."""
    mean_c: float | None
    """Estimated mean of the board."""
    target_mean_c: float
    """Mean at which the soak is over."""
    soak_left_s: float | None
    """Expected seconds until then."""
    coat_now: bool
    """The coat signal is up."""
    opens_s: float | None
    """Seconds until the face is in the window; 0 when it is."""
    shuts_s: float | None
    """Seconds until it is under the window."""
    draw_left: float | None
    """Share of the air's contraction still to come, 1 = all of it."""
    presence_left_s: float | None
    """Seconds until somebody must press PRESENT."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BagShown:
    """The bag and its pump."""

    target_pa: float
    restart_pa: float
    """The hold band, absolute: pump stops at the first, starts at the second."""
    possible_pa: float
    """The lowest this rig can reach today."""
    rise_pa_s: float | None
    """Rise in the present or last pump-off stretch."""
    verdict: str
    """'tight', 'leaking', 'cannot tell yet' or 'not tested'."""
    asked_again_at: float | None
    """Rig time the leak gate will have more to say."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingShown:
    """The resin and the solvent."""

    age_s: float
    """Equivalent age of the film at the resin's reference temperature."""
    gel_early_at: float | None
    gel_late_at: float | None
    """Expected range of the gel, rig time; of the past once gelled."""
    gelled: bool
    """The late end of the gel range has passed."""
    open_early_at: float | None
    open_late_at: float | None
    """Expected range of the opening, rig time."""
    may_open: bool
    """Open-from has passed."""
    conversion: float
    """Share of the resin's bonds made, by the kinetic model: an estimate."""
    cure: str
    """"liquid", "gelled", "glassy before gel", "glassy" or "cured", at the film's temperature."""
    flash_share: float | None
    """Share of the flash-off done by the late end, 1 = all."""
    flash_late_at: float | None
    """When the late end is expected, rig time."""
    stalled: bool
    """Too cold for this resin to set."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchShown:
    """One batch."""

    id: str
    name: str
    shop: str
    coat: int
    coats: int
    face: str
    pieces: tuple[str, ...]
    stage: str
    form: str | None
    """Of a hold."""
    since: float
    """Rig time the stage began."""
    left: str | None
    """The stage a halted batch was in."""
    place: str | None
    """Where it was moved out to."""
    outcome: str | None
    """'finished' or 'abandoned'."""
    setting: SettingShown


@dataclass(frozen=True, slots=True, kw_only=True)
class TicksShown:
    """How late control's ticks were, in wall time: from when one was due until it was done."""

    count: int
    """How many ticks this is told of, the newest ones; the last hour's on a real rig."""
    worst_late_s: float
    """The latest of them."""
    most_late_s: float
    """What 99.9 % of them kept to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot:
    """Everything."""

    version: int
    """Of this shape; a page that knows another version reloads itself."""
    seq: int
    """Counts up by one with each snapshot made."""
    now: float
    """Rig time, [s]."""
    told_utc: float
    """The calendar at `now`, seconds since 1970 UTC."""
    time_zone: str
    """IANA name of the shop's."""
    simulated: bool
    pace: float | None
    """Rig seconds a wall second on a simulated rig; None on a real one."""
    rig: str
    """Name of the rig."""
    stage: str
    """Of the batch at the rig; PLANNED with no batch."""
    sentence: Sentence
    """What is happening and what to do."""
    cautions: tuple[str, ...]
    """What can hurt here, two lines at most."""
    press: Press | None
    """The next press, if one is due or open."""
    others: tuple[Press, ...]
    """The other acts open now."""
    face: Shown
    """[degC]."""
    back: Shown
    room: Shown
    film: Shown
    bag: Shown
    """[Pa] absolute."""
    air_pa: float
    """Air pressure the vacuum is told against."""
    lamp: OutputShown
    pump: OutputShown
    zone_locked: bool
    """Solvent may be in the lamp's zone."""
    zone_free_at: float | None
    """Rig time the zone lock can end, once tidied and moved out."""
    heat: HeatShown | None
    bagging: BagShown | None
    """None for a coat without a bag, and once its film is off."""
    batch: BatchShown | None
    """The batch at the rig."""
    aside: tuple[BatchShown, ...]
    """Batches moved out, flashing off elsewhere."""
    alarms: tuple[AlarmShown, ...]
    """The worst first, and of those that one cause has brought the one that came first."""
    blind: str | None
    """Said where so much is put aside that nobody may be woken; None otherwise."""
    muted_until: float | None
    """Rig time the sounder speaks again."""
    due: tuple[Due, ...]
    ticks: TicksShown | None = None
    """Of the control that shows this; None where nothing is timed, as in a rehearsal."""
