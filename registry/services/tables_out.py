"""The program's tables as they go out to spreadsheets: one name for each, whichever module makes it.

Codes go out as the words of a language, numbers as numbers with their unit in a column beside them. Columns that our
own import knows have titles that it knows.
"""

from registry.services.table_words import Words
from registry.services.tables_of_checks import CHECKS, checks_of, happened_to, monthly_log
from registry.services.tables_of_drift import failures, groups, offsets, ranking, to_replace, weeks
from registry.services.tables_of_record import all_certificates, all_people, baths
from registry.services.tables_of_thermometers import all_thermometers, due

__all__ = [
    "CHECKS",
    "Words",
    "all_certificates",
    "all_people",
    "all_thermometers",
    "baths",
    "checks_of",
    "due",
    "failures",
    "groups",
    "happened_to",
    "monthly_log",
    "offsets",
    "ranking",
    "to_replace",
    "weeks",
]
