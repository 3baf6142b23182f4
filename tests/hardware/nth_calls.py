"""Makes the nth call of one kind fail, once or from then on, and counts how many there are.

A test plays its job once with nothing armed, which tells how many calls there are, and then again
and again with another of them armed: n = 1 and on until a play is over before the nth call.
"""

import errno
import os
from collections.abc import Callable, Iterator
from functools import wraps
from typing import Any

import pytest

Raised = Callable[[], Exception]
"""Makes the error that a failing call raises."""


def kernel_error(number: int) -> Raised:
    """An OSError as the kernel would give it, by number."""
    return lambda: OSError(number, os.strerror(number))


EIO, EBUSY = kernel_error(errno.EIO), kernel_error(errno.EBUSY)
EPIPE, EMFILE = kernel_error(errno.EPIPE), kernel_error(errno.EMFILE)


class Nth:
    """The calls of one kind, counted over everything that was put under it."""

    def __init__(self, *raised: Raised, after: bool = False) -> None:
        """raised: the errors, one n after the other

        after: a failing call has done what it was asked all the same
        """
        self._raised, self._after = raised, after
        self._nth, self._sticky = 0, False
        self.calls = 0
        """So many since it was armed last."""
        self.failed = 0
        """So many of them failed."""

    def arm(self, nth: int = 0, *, sticky: bool = False) -> None:
        """Count from here, and fail the nth call, or from the nth on; none for 0."""
        self._nth, self._sticky = nth, sticky
        self.calls = self.failed = 0

    @property
    def hit(self) -> bool:
        """A call has failed."""
        return self.failed > 0

    def over(self, call: Callable[..., Any], *, ours: Callable[..., bool] | None = None) -> Any:
        """This call, counted and failing as armed.

        ours: of its arguments, whether this one is to be counted at all; all are when left out
        """

        @wraps(call)
        def counted(*args: Any, **kwargs: Any) -> Any:
            if ours is not None and not ours(*args, **kwargs):
                return call(*args, **kwargs)
            self.calls += 1
            fails = self._nth and (
                self.calls == self._nth or (self._sticky and self.calls > self._nth)
            )
            if not fails:
                return call(*args, **kwargs)
            self.failed += 1
            if self._after:
                call(*args, **kwargs)
            raise self._raised[self._nth % len(self._raised)]()

        return counted

    def put_over(self, patch: pytest.MonkeyPatch, owner: object, *names: str, **ours: Any) -> None:
        """Put these of a class's or module's functions under it, until `patch` is undone."""
        for name in names:
            patch.setattr(owner, name, self.over(getattr(owner, name), **ours))


def spread(total: int, most: int) -> Iterator[int]:
    """At most so many of the numbers 1 to `total`, evenly, and the first and the last of them.

    >>> list(spread(10, 4))
    [1, 4, 7, 10]
    >>> list(spread(3, 9))
    [1, 2, 3]
    """
    if total <= most:
        yield from range(1, total + 1)
        return
    for step in range(most):
        yield 1 + round(step * (total - 1) / (most - 1))
