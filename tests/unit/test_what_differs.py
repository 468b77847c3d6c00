"""What is the same everywhere is said once, and nothing is lost by it."""

from powersim.report.view import Column, Paragraph, Table, Title
from powersim.report.what_differs import same_apart, what_differs

LASTS = Table(
    caption="How long the bank lasts",
    columns=(Column("what happens", words=True), Column("to floor"), Column("to flat")),
    rows=(
        ("everything working", "landfall", "landfall"),
        ("alternator lost", "3.0 days", "landfall"),
        ("one panel lost", "landfall", "landfall"),
        ("solar lost", "landfall", "landfall"),
    ),
)


def told(*sections):
    return list(what_differs(sections, same="landfall", means="it lasts to landfall"))


def test_rows_that_say_the_same_are_named_in_one_sentence():
    table, note = told(LASTS)
    assert table.rows == (("alternator lost", "3.0 days", "–"),)
    assert note == Paragraph(
        "–: it lasts to landfall. In every column: everything working, one panel lost, solar lost."
    )
    # Every row is in the table or in the sentence, once.
    for row in LASTS.rows:
        assert (row[0] in [kept[0] for kept in table.rows]) != (row[0] in note.text)


def test_a_single_such_row_stays_and_so_does_what_is_no_table():
    few = Table(columns=LASTS.columns, rows=LASTS.rows[:2])
    title, table, note = told(Title("x"), few)
    assert title == Title("x")
    assert table.rows == (("everything working", "–", "–"), ("alternator lost", "3.0 days", "–"))
    assert note == Paragraph("–: it lasts to landfall.")


def test_where_all_rows_say_the_same_there_is_no_table():
    same = Table(columns=LASTS.columns, rows=(LASTS.rows[0], *LASTS.rows[2:]))
    (note,) = told(same)
    assert note == Paragraph(
        "It lasts to landfall: everything working, one panel lost, solar lost."
    )


def test_without_a_dash_none_is_explained():
    same = (LASTS.rows[0], *LASTS.rows[2:])
    mixed = Table(columns=LASTS.columns, rows=(*same, ("battery lost", "at once", "at once")))
    table, note = told(mixed)
    assert table.rows == (("battery lost", "at once", "at once"),)
    assert note == Paragraph(
        "It lasts to landfall: everything working, one panel lost, solar lost."
    )


def test_a_table_that_never_says_it_is_passed_on():
    differs = Table(columns=LASTS.columns, rows=(("sun lost", "3.0 days", "4.0 days"),))
    assert told(differs) == [differs]


def test_a_column_that_says_the_same_is_said_once():
    table, note = same_apart(LASTS)
    assert [column.head for column in table.columns] == ["what happens", "to floor"]
    assert note == Paragraph("In every row: to flat landfall.")
    assert table.rows[1] == ("alternator lost", "3.0 days")


def test_a_short_table_and_one_that_differs_stay_whole():
    few = Table(columns=LASTS.columns, rows=LASTS.rows[:2])
    assert same_apart(few) == (few,)
    differ = Table(columns=LASTS.columns[:2], rows=tuple(row[:2] for row in LASTS.rows))
    assert same_apart(differ) == (differ,)


def test_what_one_row_alone_says_stays_in_its_row():
    rows = (("A", "", "4 kn"), ("B", "2 days", "5 kn"), ("C", "", "6 kn"))
    stops = Table(
        columns=tuple(Column(head, words=True) for head in ("waypoint", "stop", "speed on")),
        rows=rows,
    )
    assert same_apart(stops) == (stops,)
