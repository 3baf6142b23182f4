"""The numbers samples carry for their batches, and what is handed in as rows that carry them."""

from collections.abc import Mapping

from controller.store.cells import EntryRows, entry_rows, sample_cells
from controller.store.rows import Entry, SampleRow
from controller.store.sums import Row


class Numbering:
    """The number of each batch, from 1; 0 stands for none."""

    def __init__(self, numbers: Mapping[str, int]) -> None:
        """numbers: of the batches a log knows, by id"""
        self._numbers = dict(numbers)
        self._ids = {number: id for id, number in numbers.items()}

    def assigned(self, batch: str) -> int:
        """The number of a batch; the next free one where it has none yet."""
        if batch not in self._numbers:
            number = max(self._ids, default=0) + 1
            self._numbers[batch], self._ids[number] = number, batch
        return self._numbers[batch]

    def number(self, batch: str | None) -> int:
        """The number a sample carries for its batch.

        Raises KeyError for a batch that no entry has told of.
        """
        return 0 if batch is None else self._numbers[batch]

    def elsewhere(self, number: int, other: "Numbering") -> int:
        """The number another log has for the batch that has this one here."""
        return 0 if number == 0 else other.assigned(self._ids[number])

    def entry(self, entry: Entry) -> EntryRows:
        """The rows of an entry. Raises TypeError for an event whose data is no JSON."""
        for batch in entry.batches:
            self.assigned(batch.id)
        return entry_rows(entry, self._numbers)

    def sample(self, row: SampleRow) -> Row:
        """The cells of a sample. Raises KeyError for a batch that no entry has told of."""
        return (self.number(row.batch), *sample_cells(row))
