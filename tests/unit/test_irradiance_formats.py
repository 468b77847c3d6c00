"""Reading light from files in published formats. Every file here is invented, and tiny or a year
of one repeated day; only its form is the published one."""

import json
import math

import pvlib
import pytest

from powersim.errors import InputError
from powersim.inputs.irradiance import read_irradiance
from powersim.inputs.irradiance_formats import FORMATS, format_of

HOUR_S = 3600.0
NOON_S = 1788609600.0  # 5 September 2026, 12:00 UTC
NEW_YEAR_S = 978307200.0  # 1 January 2001, the year that stands for any

# ---------------------------------------------------------------- invented files, in form

PVGIS_HEAD = """\
Latitude (decimal degrees):\t38.500
Longitude (decimal degrees):\t-28.600
Elevation (m):\t12
Radiation database:\tPVGIS-SARAH3


Slope: {slope} deg.
Azimuth: 0 deg.
"""
PVGIS_TAIL = "\nG(i): Global irradiance on the inclined plane (W/m2)\n\nPVGIS (c) European Union\n"
PVGIS_TOTAL = (
    PVGIS_HEAD
    + "time,G(i),H_sun,T2m,WS10m,Int\n"
    + "20260905:1210,512.0,55.1,21.5,6.2,0.0\n20260905:1310,498.5,54.0,21.9,6.5,0.0\n"
    + PVGIS_TAIL
)
PVGIS_PARTS = (
    PVGIS_HEAD
    + "time,Gb(i),Gd(i),Gr(i),H_sun,T2m,WS10m,Int\n"
    + "20260905:1210,400.0,112.0,0.0,55.1,21.5,6.2,0.0\n"
    + "20260905:1310,380.0,118.5,0.0,54.0,21.9,6.5,0.0\n"
    + PVGIS_TAIL
)


def pvgis_json(slope=0):
    rows = [
        {"time": f"20260905:{hour}10", "G(i)": light, "H_sun": 55.1, "T2m": 21.5, "WS10m": 6.2}
        | {"Int": 0.0}
        for hour, light in ((12, 512.0), (13, 498.5))
    ]
    plane = {"slope": {"value": slope, "optimal": False}, "azimuth": {"value": 0}}
    whole = {
        "inputs": {
            "location": {"latitude": 38.5, "longitude": -28.6, "elevation": 12.0},
            "mounting_system": {"fixed": plane},
        },
        "outputs": {"hourly": rows},
        "meta": {"inputs": {}, "outputs": {}},
    }
    return json.dumps(whole)


def days_of_a_year(years=None):
    """(year, month, day, hour) of 8,760 hours; February from another year than the rest."""
    for month, days in enumerate((31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31), start=1):
        for day in range(1, days + 1):
            for hour in range(24):
                yield (years or {}).get(month, 2011), month, day, hour


def light_at(hour):
    """Between 6 and 18 h, 400 W/m2 in the hour before and after noon."""
    return max(0, 400 - 70 * round(abs(hour - 11.5) - 0.5)) if 6 <= hour < 18 else 0


def pvgis_typical(offset="Irradiance Time Offset (h): 0.1761\n"):
    rows = "".join(
        f"{year}{month:02}{day:02}:{hour:02}00,{month}.5,80.0,{light_at(hour)}.0,0.0,0.0,300.0,5.0,"
        "180.0,101000.0\n"
        for year, month, day, hour in days_of_a_year({2: 2008, 3: 2015})
    )
    return (
        "Latitude (decimal degrees): 38.500\nLongitude (decimal degrees): -28.600\n"
        f"Elevation (m): 12.0\n{offset}month,year\n"
        + "".join(f"{month},{2008 if month == 2 else 2011}\n" for month in range(1, 13))
        + "time(UTC),T2m,RH,G(h),Gb(n),Gd(h),IR(h),WS10m,WD10m,SP\n"
        + rows
        + "\nT2m: 2-m air temperature (degree Celsius)\n"
    )


def pvgis_typical_json():
    names = ("T2m", "G(h)", "Gb(n)", "Gd(h)", "WS10m")
    rows = [
        {"time(UTC)": f"{year}{month:02}{day:02}:{hour:02}00"}
        | dict(zip(names, (month + 0.5, light_at(hour), 0.0, 0.0, 5.0), strict=True))
        for year, month, day, hour in days_of_a_year({2: 2008, 3: 2015})
    ]
    place = {"latitude": 38.5, "longitude": -28.6, "elevation": 12.0}
    return json.dumps(
        {
            "inputs": {"location": place | {"irradiance_time_offset": 0.1761}},
            "outputs": {"months_selected": [], "tmy_hourly": rows},
            "meta": {"inputs": {}, "outputs": {}},
        }
    )


NSRDB_HEAD = (
    "Source,Location ID,City,State,Country,Latitude,Longitude,Time Zone,Elevation,Local Time Zone,"
    "Version\n"
    "NSRDB,1,-,-,-,18.0,-60.0,{zone},0,-4,4.0.0\n"
    "Year,Month,Day,Hour,Minute,DHI,Temperature,DNI,GHI,Wind Speed\n"
)
NSRDB = NSRDB_HEAD.format(zone=-4) + (
    "2026,9,5,8,30,112,21.5,500,512,6.2\n2026,9,5,9,30,118,21.9,480,498.5,6.5\n"
)
EPW_HEAD = (
    "LOCATION,Nowhere,-,XXX,Invented,000000,14.0,-61.0,-4.0,5.0\n"
    "DESIGN CONDITIONS,0\nTYPICAL/EXTREME PERIODS,0\nGROUND TEMPERATURES,0\n"
    "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0\nCOMMENTS 1,invented\nCOMMENTS 2,invented\n"
    "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\n"
)


def epw(ghi=light_at):
    return EPW_HEAD + "".join(
        f"{year},{month},{day},{hour + 1},60,?9,{month}.5,10.0,80,101000,0,0,400,{ghi(hour)},0,0,"
        "0,0,0,0,180,5.0,5,5,16.0,77777,9,999999999,200,0.1,0,88,0.2,0.0,1.0\n"
        for year, month, day, hour in days_of_a_year({2: 2008})
    )


def tmy3():
    """Hours end at their stamp, the last of a day at 24:00; February of a leap year."""
    return (
        '000000,"NOWHERE",XX,-4.0,14.000,-61.000,5\n'
        "Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),DNI (W/m^2),DHI (W/m^2),Dry-bulb (C),"
        "Wspd (m/s)\n"
        + "".join(
            f"{month:02}/{day:02}/{year},{hour + 1:02}:00,{light_at(hour)},0,-9900,{month}.5,5.0\n"
            for year, month, day, hour in days_of_a_year({2: 1988})
        )
    )


def surfrad(*rows):
    """Rows of (minute, global, its flag, direct, diffuse, air, wind); the rest is filled in."""
    lines = [" Nowhere", "   40.05  -88.37  213 m version 1"]
    for minute, ghi, flag, dni, dhi, air_C, wind_m_s in rows:
        cells = [2026, 248, 9, 5, 12, minute, 12.0 + minute / 60.0, 40.0]
        cells += [ghi, flag, -9999.9, 0, dni, 0, dhi, 0]
        cells += [-9999.9, 0] * 11
        cells += [air_C, 0, 50.0, 0, wind_m_s, 0, 180.0, 0, 990.0, 0]
        assert len(cells) == 48
        lines.append(" ".join(str(cell) for cell in cells))
    return "\n".join(lines) + "\n"


SURFRAD = surfrad(
    (1, 512.0, 0, 600.0, 112.0, 21.5, 6.2),
    (2, 498.5, 1, 590.0, -9999.9, 21.9, 6.5),
    (3, -3.1, 0, -0.5, 2.0, 21.9, 6.5),
)
SAMPLES = {
    "PVGIS hourly": PVGIS_TOTAL.format(slope=0),
    "PVGIS hourly JSON": pvgis_json(),
    "PVGIS typical": pvgis_typical(),
    "PVGIS typical JSON": pvgis_typical_json(),
    "NSRDB": NSRDB,
    "EPW": epw(),
    "TMY3": tmy3(),
    "SURFRAD": SURFRAD,
}


@pytest.fixture
def read(write_file):
    return lambda text, name="light.txt": read_irradiance(write_file(name, text))


def refused(read, text):
    with pytest.raises(InputError) as caught:
        read(text)
    [problem] = caught.value.problems
    assert problem.file.endswith("light.txt")
    return problem


@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_each_is_known_by_its_first_lines_and_read(read, name, ends):
    text = SAMPLES[name].replace("\n", ends)
    assert format_of(text) is not None
    irradiance = read(text)
    assert irradiance.step_s == (60.0 if name == "SURFRAD" else HOUR_S)
    assert irradiance.any_year == (name.startswith("PVGIS typical") or name in ("EPW", "TMY3"))
    assert max(irradiance.ghi_W_m2) in (400.0, 512.0)


def test_each_format_has_one_sample():
    assert {format_of(text).name for text in SAMPLES.values()} == {each.name for each in FORMATS}


def test_each_has_a_reader_in_this_pvlib():
    """pvlib names NSRDB's reader anew from 0.13 on; either name will do."""
    for each in FORMATS:
        assert any(hasattr(pvlib.iotools, name) for name in each.readers)


@pytest.mark.parametrize("text", ["", "{", "time,ghi_W_m2\n2026-09-05,1\n", "LOCATION", "a,b\n1,2"])
def test_a_file_of_ones_own_is_none_of_them(text):
    assert format_of(text) is None


@pytest.mark.parametrize("text", [PVGIS_TOTAL.format(slope=0), pvgis_json()])
def test_pvgis_stamps_are_the_middle(read, text):
    irradiance = read(text)
    assert irradiance.start_utc_s[0] == NOON_S + 600.0 - 1800.0
    assert list(irradiance.ghi_W_m2) == [512.0, 498.5]
    assert (irradiance.air_C[0], irradiance.wind_m_s[0]) == (21.5, 6.2)


def test_pvgis_parts_on_a_level_plane_add_up(read):
    irradiance = read(PVGIS_PARTS.format(slope=0))
    assert list(irradiance.ghi_W_m2) == [512.0, 498.5]
    assert list(irradiance.dhi_W_m2) == [112.0, 118.5]
    assert irradiance.dni_W_m2 is None


@pytest.mark.parametrize("text", [PVGIS_TOTAL.format(slope=35), pvgis_json(slope=35)])
def test_pvgis_on_a_tilted_plane_is_refused(read, text):
    problem = refused(read, text)
    assert problem.text == "has the light on a plane tilted 35 deg"
    assert problem.expected == "the same from PVGIS for a fixed plane of slope 0"


def test_pvgis_on_a_plane_that_follows_the_sun_is_refused(read):
    problem = refused(read, PVGIS_TOTAL.replace("Slope: {slope} deg.\n", ""))
    assert problem.text == "has the light on a plane that follows the sun"


def test_nsrdb_stamps_are_the_middle_in_the_files_own_zone(read):
    irradiance = read(NSRDB)
    assert irradiance.start_utc_s[0] == NOON_S
    assert list(irradiance.ghi_W_m2) == [512.0, 498.5]
    assert list(irradiance.dni_W_m2) == [500.0, 480.0]
    assert list(irradiance.dhi_W_m2) == [112.0, 118.0]
    assert not irradiance.any_year


def test_nsrdb_months_of_several_years_are_a_typical_year(read):
    rows = "2016,1,31,23,30,0,21,0,0,6\n2011,2,1,0,30,0,22,0,0,6\n"
    irradiance = read(NSRDB_HEAD.format(zone=0) + rows)
    assert irradiance.any_year
    assert list(irradiance.start_utc_s) == [NEW_YEAR_S + HOUR_S * h for h in (31 * 24 - 1, 31 * 24)]


@pytest.mark.parametrize("name", ["EPW", "TMY3"])
def test_typical_hours_are_those_of_the_places_own_clock(read, name):
    """Both hours begin at 6 h on 1 January, 4 hours after UTC; EPW's 7th hour is TMY3's 07:00."""
    irradiance = read(SAMPLES[name])
    assert len(irradiance.start_utc_s) == 8760
    assert irradiance.start_utc_s[0] == NEW_YEAR_S + 4 * HOUR_S - (HOUR_S if name == "TMY3" else 0)
    steps = {
        after - before
        for before, after in zip(irradiance.start_utc_s, irradiance.start_utc_s[1:], strict=False)
    }
    assert steps == {HOUR_S}
    light = dict(zip(irradiance.start_utc_s, irradiance.ghi_W_m2, strict=True))
    for day in (0, 58, 59, 364):
        first_s = NEW_YEAR_S + 86400.0 * day + 4 * HOUR_S
        found = [light[first_s + hour * HOUR_S] for hour in range(5, 19)]
        assert found == [light_at(hour) for hour in range(5, 19)]


def test_pvgis_typical_hours_are_shifted_by_the_files_own_offset(read):
    plain = read(pvgis_typical(""))
    assert plain.start_utc_s[0] == NEW_YEAR_S - 1800.0
    for name in ("PVGIS typical", "PVGIS typical JSON"):
        late = read(SAMPLES[name])
        assert late.start_utc_s[0] - plain.start_utc_s[0] == pytest.approx(0.1761 * HOUR_S)
        assert late.ghi_W_m2 == plain.ghi_W_m2


def test_what_the_formats_mark_as_missing_is_missing(read):
    epw_light = read(epw(lambda hour: 9999 if hour == 12 else 0)).ghi_W_m2
    assert [math.isnan(value) for value in epw_light[11:14]] == [False, True, False]
    assert all(math.isnan(value) for value in read(tmy3()).dhi_W_m2)


def test_surfrad_minutes_end_at_their_stamp_and_bad_ones_are_left_out(read):
    irradiance = read(SURFRAD)
    assert irradiance.start_utc_s[0] == NOON_S
    assert irradiance.ghi_W_m2[0] == 512.0
    assert math.isnan(irradiance.ghi_W_m2[1])  # flagged
    assert irradiance.ghi_W_m2[2] == irradiance.dni_W_m2[2] == 0.0  # a night's noise
    assert math.isnan(irradiance.dhi_W_m2[1])
    assert (irradiance.air_C[0], irradiance.wind_m_s[0]) == (21.5, 6.2)


def test_impossible_light_is_refused_with_its_time(read):
    problem = refused(read, NSRDB.replace(",512,", ",5120,"))
    assert problem.text == "its light on the horizontal is 5120 at 2026-09-05 12:30 UTC"
    assert problem.expected == "-10 to 1600, or the format's own mark for what is missing"


def test_times_out_of_step_are_refused(read):
    rows = "".join(f"2026,9,5,{hour},30,0,21,0,0,6\n" for hour in (8, 9, 9))
    problem = refused(read, NSRDB_HEAD.format(zone=0) + rows)
    assert problem.text == "has no regular step: see 2026-09-05 09:30 UTC"


def test_times_of_other_centuries_are_refused(read):
    problem = refused(read, NSRDB.replace("2026,", "1926,"))
    assert problem.text == "is an NSRDB file with times outside the years 1950 to 2100"


def test_one_time_is_no_series(read):
    problem = refused(read, NSRDB_HEAD.format(zone=0) + "2026,9,5,8,30,112,21.5,500,512,6.2\n")
    assert problem.text == "is an NSRDB file with fewer than two times"


def test_a_file_without_global_light_is_refused(read):
    problem = refused(read, NSRDB.replace(",GHI,", ",Clearsky GHI,"))
    assert problem.text == "is an NSRDB file without light on the horizontal"


@pytest.mark.parametrize("name", SAMPLES)
def test_a_file_cut_short_or_scribbled_in_is_refused_in_a_sentence(read, name):
    text = SAMPLES[name]
    marks = {"SURFRAD": "2026 248", "NSRDB": "2026,9,5,8"}
    marks |= {f"PVGIS {name} JSON": '"outputs"' for name in ("hourly", "typical")}
    broken = text.replace(marks.get(name, "2011" if "typical" in name else "12"), "soon", 1)
    if name in ("EPW", "TMY3"):
        broken = text.replace("-4.0", "west", 1)
    if name == "PVGIS hourly":
        broken = text.replace("20260905:1310", "20260905:soon")
    problem = refused(read, broken)
    assert "by its first lines, but pvlib cannot read it" in problem.text
    assert problem.expected == "the file as it was downloaded, whole and unchanged"


def test_a_pvlib_without_the_reader_is_named(read, monkeypatch):
    monkeypatch.delattr(pvlib.iotools, "read_surfrad")
    problem = refused(read, SURFRAD)
    assert problem.text == "is a SURFRAD file, and this pvlib has no read_surfrad"


def test_a_name_that_looks_like_an_address_is_a_file_all_the_same(write_file, monkeypatch):
    """pvlib opens what begins with http or ftp over a network; it is given whole paths only."""
    path = write_file("ftp.dat", SURFRAD)
    monkeypatch.chdir(path.parent)
    assert read_irradiance("ftp.dat").ghi_W_m2[0] == 512.0
