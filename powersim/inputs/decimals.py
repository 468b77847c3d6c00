"""Numbers in the cells of a table, whose decimals may stand behind a comma.

`12,65` is twelve and a half and a bit; nobody puts two digits behind a comma between thousands.
`1,234` may be either, and is refused unless the rest of the table tells; between semicolons so is
`1.234`, as the countries that write those have points between thousands. Blanks that do not break,
as French spreadsheets have them, stand between thousands alone.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from powersim.inputs.text import ReadingError, quoted

#: What a column's cells hold: quantities, a position or one angle of it, or words.
QUANTITY, POSITION, ANGLE, WORDS = "quantity", "position", "angle", "words"
_BLANKS = "\N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}\N{THIN SPACE}\N{FIGURE SPACE}"
_TOKEN = re.compile(rf"(?<![\w:.,])\d+(?:[.,{_BLANKS}]\d+)*(?![\d:])")
_GROUPED = re.compile(rf"\d{{1,3}}(?:[{_BLANKS}]\d{{3}})+(?=[.,]\d+$|$)")
_THREE_DIGITS = re.compile(r"[1-9]\d{0,2}[.,]\d{3}")
_POINT_GROUPS = re.compile(r"\d{1,3}(?:\.\d{3})+,\d+")
_COMMA_GROUPS = re.compile(r"\d{1,3}(?:,\d{3})+\.\d+")
_LETTERS = re.compile(r"[NS].*[EW]", re.IGNORECASE | re.DOTALL)
_COMMA_IN_ANGLE = re.compile(r"(?<![\d.,])(\d+),(\d+)(?![\d.,])")
_BEFORE_MINUTES = re.compile(r"\d\s*[°º˚'′’‘´`ʹ\s-]\s*$|deg(?:rees?)?\.?\s*$", re.IGNORECASE)
_BEHIND_DEGREES = re.compile(r"\s*(?:[°º˚]|deg)", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Decimals:
    """What a table shows of how its numbers are written.

    Attributes
    ----------
    separator : str
        Between its cells.
    comma, point : bool
        Whether some number can only have its decimals behind a comma, or behind a point.
    """

    separator: str = ","
    comma: bool = False
    point: bool = False

    @property
    def write_comma(self) -> bool:
        """Whether a new number goes in with a comma: as the others, or as such spreadsheets do."""
        return self.comma or (self.separator == ";" and not self.point)


def decimals_of(cells: Iterable[str], *, separator: str) -> Decimals:
    """How the numbers of a table are written.

    Parameters
    ----------
    cells : iterable of str
        Of its columns with numbers.
    separator : str
        Between cells.

    Examples
    --------
    >>> decimals_of(["1,234 h", "12,65 V"], separator=";").comma
    True
    """
    comma = point = False
    for cell in cells:
        if "," not in cell and "." not in cell:
            continue
        for token in _TOKEN.findall(cell):
            plain = _without_blanks(token)
            comma = comma or bool(_POINT_GROUPS.fullmatch(plain)) or _is_decimal(plain, ",")
            point = point or bool(_COMMA_GROUPS.fullmatch(plain)) or _is_decimal(plain, ".")
    return Decimals(separator=separator, comma=comma, point=point)


def with_points(text: str, kind: str, decimals: Decimals) -> str:
    """A cell with its decimals behind a point and nothing between thousands.

    Parameters
    ----------
    text : str
        As it stands in the table.
    kind : str
        QUANTITY, POSITION, ANGLE or WORDS.
    decimals : Decimals
        Of the table.

    Raises
    ------
    ReadingError
        With a `reason`, if a number of it may be two.

    Examples
    --------
    >>> with_points("-3,2 A", QUANTITY, Decimals(separator=";"))
    '-3.2 A'
    >>> with_points("52°10,5'N 27°31,0'W", POSITION, Decimals(separator=";"))
    "52°10.5'N 27°31.0'W"
    """
    if kind == WORDS:
        return text
    if kind == QUANTITY:
        return _TOKEN.sub(lambda found: _number(found.group(), text, decimals), text)
    if "," not in text or (kind == POSITION and _comma_between(text)):
        return text
    return _COMMA_IN_ANGLE.sub(lambda found: _part_of_angle(found, text), text)


def as_in_table(text: str, decimals: Decimals) -> str:
    """A quantity with its decimals as the table has them, to go into a cell of it.

    Parameters
    ----------
    text : str
        With a point.
    decimals : Decimals
        Of the table.

    Examples
    --------
    >>> as_in_table("37.4 W", Decimals(separator=";"))
    '37,4 W'
    """
    if not decimals.write_comma:
        return text
    as_read = decimals.comma and not decimals.point

    def with_comma(found: re.Match[str]) -> str:
        fourth = "" if as_read or not _THREE_DIGITS.fullmatch(found.group()) else "0"
        return found.group().replace(".", ",") + fourth  # so that it can be no thousands

    return re.sub(r"\d+\.\d+", with_comma, text)


def _number(token: str, text: str, decimals: Decimals) -> str:
    plain = _without_blanks(token)
    if _POINT_GROUPS.fullmatch(plain):
        return plain.replace(".", "").replace(",", ".")
    if _COMMA_GROUPS.fullmatch(plain):
        return plain.replace(",", "")
    if _is_decimal(plain, ","):
        return plain.replace(",", ".")
    if _THREE_DIGITS.fullmatch(plain):
        if "," in plain and decimals.comma and not decimals.point:
            return plain.replace(",", ".")
        if "," in plain or decimals.comma or (decimals.separator != "," and not decimals.point):
            whole = re.sub("[.,]", "", plain)
            raise ReadingError(
                f"{quoted(text)} may be {plain.replace(',', '.')} or {whole}; write nothing "
                "between thousands, and a point before decimals"
            )
    return plain


def _is_decimal(plain: str, sign: str) -> bool:
    """Whether a number can only have its decimals behind the sign."""
    before, found, behind = plain.partition(sign)
    both = before + behind
    return bool(found) and both.isdigit() and bool(before) and not _THREE_DIGITS.fullmatch(plain)


def _without_blanks(token: str) -> str:
    found = _GROUPED.match(token)
    if found is None:
        return token
    return re.sub(f"[{_BLANKS}]", "", found.group()) + token[found.end() :]


def _comma_between(text: str) -> bool:
    """Whether the comma stands between latitude and longitude, if anywhere."""
    lat, _, lon = text.partition(",")
    only_one = "," not in lon and re.search("[NS]", lat, re.I) and re.search("[EW]", lon, re.I)
    lat_has_both = re.search("[EW]", lat, re.I) or re.search("[NS]", lon, re.I)
    return not _LETTERS.search(text) or bool(only_one and not lat_has_both)


def _part_of_angle(found: re.Match[str], text: str) -> str:
    """A number of a position with its comma, unless that may stand between degrees and minutes."""
    before, behind = found.groups()
    is_minutes = _BEFORE_MINUTES.search(text[: found.start()]) is not None
    is_degrees = _BEHIND_DEGREES.match(text[found.end() :]) is not None
    if is_minutes or is_degrees or len(behind) >= 3:
        return f"{before}.{behind}"
    raise ReadingError(
        f"{quoted(text)} may have {before}.{behind} degrees, or {before} degrees {behind} minutes; "
        f"write {before}.{behind}° or {before}°{behind}'"
    )
