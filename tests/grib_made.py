"""GRIB messages made with ecCodes for tests, from its own samples."""

import numpy as np

LIGHT_ECMWF = {"edition": 1, "centre": 98, "table2Version": 128, "indicatorOfParameter": 169}
LIGHT = {"discipline": 0, "parameterCategory": 4, "parameterNumber": 7}
CLOUD = {"discipline": 0, "parameterCategory": 6, "parameterNumber": 1}


def message(values, *, numbers, area=(50.0, -30.0, 30.0, 10.0), window_h=6, scan=(), **keys):
    """The bytes of one message.

    `values` has rows from north to south and columns from west to east, or as `scan` orders them;
    `area` is north, west, south, east. `window_h` is a moment, or the two ends of a window after
    the run of 1 July 2026 00 UTC; `mean_of` ("avg" or "accum") says of what.
    """
    import eccodes

    numbers = dict(numbers)
    edition = numbers.pop("edition", 2)
    handle = eccodes.codes_grib_new_from_samples(f"regular_ll_sfc_grib{edition}")
    try:
        values = np.asarray(values, dtype=float)
        rows, columns = keys.pop("shape", values.shape)
        north, west, south, east = area
        kind = keys.pop("mean_of", "instant")
        level = keys.pop("level", None)
        before = {"dataDate": 20260701, "dataTime": 0, "centre": numbers.pop("centre", 7)}
        grid = {
            "Ni": columns,
            "Nj": rows,
            "latitudeOfFirstGridPointInDegrees": north,
            "longitudeOfFirstGridPointInDegrees": west % 360.0,
            "latitudeOfLastGridPointInDegrees": south,
            "longitudeOfLastGridPointInDegrees": east % 360.0,
            "iDirectionIncrementInDegrees": (east - west) % 360.0 / (columns - 1),
            "jDirectionIncrementInDegrees": abs(north - south) / (rows - 1),
        }
        if edition == 2 and kind != "instant":
            before["productDefinitionTemplateNumber"] = 8
        for key, value in {**before, **grid, **dict(scan), **numbers}.items():
            eccodes.codes_set(handle, key, value)
        if level is not None:
            eccodes.codes_set(handle, "typeOfLevel", level[0])
            eccodes.codes_set(handle, "level", level[1])
        eccodes.codes_set(handle, "stepType", kind)
        ends = window_h if isinstance(window_h, tuple) else (window_h,)
        eccodes.codes_set(handle, "stepRange", "-".join(map(str, ends)))
        eccodes.codes_set(handle, "bitsPerValue", keys.pop("bits", 16))
        for key, value in keys.items():
            eccodes.codes_set(handle, key, value)
        eccodes.codes_set_values(handle, values.ravel())
        return eccodes.codes_get_message(handle)
    finally:
        eccodes.codes_release(handle)
