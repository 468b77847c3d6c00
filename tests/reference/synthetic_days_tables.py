"""The tables of docs/model/synthetic_days.md, by the name of each in the page."""

from coast_records import brightest_rows, dark_rows, memory_rows, spread_rows
from hour_records import fifty_rows, hour_rows
from mooring_records import mean_rows, papa_rows, weeks_rows

TABLES = {
    "brightest": brightest_rows,
    "spread": spread_rows,
    "memory": memory_rows,
    "dark": dark_rows,
    "papa": papa_rows,
    "mean": mean_rows,
    "weeks": weeks_rows,
    "hours": hour_rows,
    "fifty": fifty_rows,
}
