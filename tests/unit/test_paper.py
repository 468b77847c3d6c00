"""Paper: what does not fit goes on the next page, and neither words nor rows are parted."""

import pytest

from powersim.report.paper import A5_MM, Paper, leading_mm
from powersim.report.paper_tables import high_mm, set_grid, set_table
from powersim.report.view import Column, Table


def paper_of(**given):
    return Paper(size_mm=A5_MM, margin_mm=9.0, **given)


def table_of(rows, *, words="a name"):
    columns = (
        Column("what", words=True),
        Column("to\nfloor", over="days"),
        Column("to\nflat", over="days"),
    )
    cells = tuple((f"{words} {number}", f"{number}.1", f"{number}.2") for number in range(rows))
    return Table(columns=columns, rows=cells)


def lines_of(page):
    """What stands on each level of a page, from left to right."""
    levels = {}
    for text in page.texts:
        levels.setdefault(round(text.get_position()[1], 4), []).append(text)
    return [
        [text.get_text() for text in sorted(found, key=lambda text: text.get_position()[0])]
        for _, found in sorted(levels.items(), reverse=True)
    ]


def test_a_long_table_goes_on_with_its_heads_and_whole_rows():
    paper = paper_of()
    table = table_of(90)
    set_table(paper, table, 9.0)
    assert len(paper.pages) == 3
    found = []
    for page in paper.pages:
        days, to, heads, *rows = lines_of(page)
        assert days == ["days"]
        assert to == ["to", "to"]
        assert heads == ["what", "floor", "flat"]
        found += map(tuple, rows)
    assert found == list(table.rows)


def test_a_table_is_as_high_as_it_is_said_to_be():
    for rows in (0, 1, 12):
        paper, table = paper_of(), table_of(rows)
        before_mm = paper.y_mm
        told_mm = high_mm(paper, table, 9.0)
        set_table(paper, table, 9.0)
        assert paper.y_mm - before_mm == pytest.approx(told_mm)


def test_a_table_of_half_a_page_is_not_parted():
    paper = paper_of()
    paper.skip(120.0)
    set_table(paper, table_of(18), 9.0)
    first, second = paper.pages
    assert first.texts == []
    assert len(lines_of(second)) == 18 + 3


def test_a_heading_goes_with_what_stands_under_it():
    paper = paper_of()
    paper.skip(175.0)
    table = table_of(4)
    paper.paragraph("days left", 10.5, with_next_mm=high_mm(paper, table, 9.0))
    set_table(paper, table, 9.0)
    assert paper.pages[0].texts == []
    assert lines_of(paper.pages[1])[0] == ["days left"]


def test_a_bar_goes_on_beside_what_it_marks():
    heads = []
    paper = paper_of(on_each=lambda paper: heads.append(len(paper.pages)))
    paper.skip(180.0)
    with paper.marked():
        for number in range(6):
            paper.paragraph(f"line {number}", 12.0)
    paper.paragraph("no more", 12.0)
    assert heads == [2]
    for page in paper.pages:
        (bar,) = page.artists
        low, high = min(bar.get_ydata()), max(bar.get_ydata())
        marked = [text for text in page.texts if text.get_text().startswith("line")]
        assert marked
        for text in marked:
            assert low < text.get_position()[1] < high
    (after,) = (text for text in paper.pages[1].texts if text.get_text() == "no more")
    assert after.get_position()[1] < min(paper.pages[1].artists[0].get_ydata())
    # Set in by the bar, and no longer.
    assert after.get_position()[0] < marked[0].get_position()[0]


@pytest.mark.parametrize("filled_up", [False, True])
def test_a_grid_has_a_row_for_each_and_its_heads_on_every_page(filled_up):
    paper = paper_of()
    days = [f"{day} May" for day in range(1, 32)]
    set_grid(paper, ("ship_time", "note"), (0.4, 0.6), days, 9.0, high_mm=8.5, filled_up=filled_up)
    assert len(paper.pages) == 2
    words = [[text.get_text() for text in page.texts if text.get_text()] for page in paper.pages]
    assert [page[:2] for page in words] == [["ship_time", "note"]] * 2
    assert [word for page in words for word in page[2:]] == days
    end_mm = A5_MM[1] - 9.0
    assert (end_mm - paper.y_mm < 8.5) is filled_up
    # No row reaches beyond the margin.
    for page in paper.pages:
        lowest = min(min(line.get_ydata()) for line in page.artists)
        assert A5_MM[1] * (1.0 - lowest) <= end_mm + 1e-6


def test_every_page_has_its_number():
    paper = paper_of()
    paper.turn()
    paper.number_pages(9.0)
    assert [page.texts[-1].get_text() for page in paper.pages] == ["1 of 2", "2 of 2"]


def test_a_line_is_leading_high():
    """Words of 10 points: 13.5 points of 25.4/72 mm from line to line."""
    paper = paper_of()
    before_mm = paper.y_mm
    paper.paragraph("one line", 10.0)
    assert paper.y_mm - before_mm == pytest.approx(leading_mm(10.0)) == pytest.approx(4.7625)
