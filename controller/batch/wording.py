"""A sentence's parts: its text with {named} gaps, and the quantities that fill them, SI."""

from controller.batch.snapshot import Quantity, Sentence


def say(text: str, **values: Quantity) -> Sentence:
    """A sentence; each {name} in its text is one of the values."""
    return Sentence(text=text, values=values)


def temperature(kelvin: float) -> Quantity:
    """[K]."""
    return Quantity(kind="temperature", value=kelvin)


def lasting(seconds: float) -> Quantity:
    """A length of time, [s]; none is below nothing."""
    return Quantity(kind="duration", value=max(seconds, 0.0))


def clock(at: float) -> Quantity:
    """A moment of rig time, [s]."""
    return Quantity(kind="clock", value=at)


def vacuum(below: float) -> Quantity:
    """How far below the air a bag is, [Pa]; never above it."""
    return Quantity(kind="vacuum", value=max(below, 0.0))


def plain(text: str) -> str:
    """Words from outside as they may stand in a sentence: braces are for gaps."""
    return text.replace("{", "(").replace("}", ")")
