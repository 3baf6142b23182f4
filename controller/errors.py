"""Every error the controller raises on purpose. Imports nothing, so anything may import it."""


class ControllerError(Exception):
    """Base of every error raised on purpose; its text is one line a person can act on."""


class RangeError(ControllerError, ValueError):
    """A formula was asked outside the range its source covers."""


class InputError(ControllerError, ValueError):
    """A file, a setting or a typed quantity cannot be used; says what, where and what to do."""


class ReadingError(ControllerError, OSError):
    """A sensor gave no usable value."""


class OutputError(ControllerError, OSError):
    """An output could not be claimed or switched."""


class StageError(ControllerError, RuntimeError):
    """An act that the present stage does not allow."""


class BusyError(ControllerError, RuntimeError):
    """Another process already holds what this one asked for."""
