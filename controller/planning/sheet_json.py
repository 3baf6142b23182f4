"""The batch sheet as JSON text: how it is stored, and how it travels with a PLAN act."""

from pydantic import TypeAdapter, ValidationError

from controller.errors import InputError
from controller.planning.sheet import BatchSheet

_ADAPTER = TypeAdapter(BatchSheet)


def sheet_to_json(sheet: BatchSheet) -> str:
    """The sheet as JSON text, SI units as in its docstrings."""
    return _ADAPTER.dump_json(sheet).decode()


def sheet_from_json(text: str) -> BatchSheet:
    """The sheet from its JSON text. Raises InputError, with every fault, where it is none."""
    try:
        return _ADAPTER.validate_json(text)
    except ValidationError as error:
        faults = "; ".join(
            f"{'.'.join(str(part) for part in fault['loc'])}: {fault['msg']}"
            for fault in error.errors()
        )
        raise InputError(f"this is no batch sheet: {faults}") from error
