"""The alarms: one table of what may call a person. Which of them stand now is in `alarm_book.py`,
and in which stages each means anything in `alarm_stages.py`.

An alarm needs something done by a person now; what does not is an event. P1 latches: it stays
until its cause is gone and somebody has acknowledged it, and as long as it stays the lamp is
dark.
"""

from controller.batch.alarm_row import AlarmRow
from controller.batch.alarms_bag import BAG_ALARMS
from controller.batch.alarms_lamp import LAMP_ALARMS
from controller.batch.alarms_work import WORK_ALARMS

ALARMS: dict[str, AlarmRow] = {**LAMP_ALARMS, **BAG_ALARMS, **WORK_ALARMS}
"""Every alarm there is."""
