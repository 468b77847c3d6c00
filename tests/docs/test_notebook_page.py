"""The page on notebooks: its examples run, say what they say, and name what there is."""

import re

from pages import ROOT, blocks

import powersim
from powersim.inputs.starter import demo_files

PAGE = ROOT / "docs" / "reference" / "notebook.md"
QUICK = "members=3, step_h=1.0"


def test_the_examples_run_on_the_demo_and_a_prepared_passage_answers_as_a_fresh_one(
    tmp_path, monkeypatch
):
    folder = tmp_path / "my-passage"
    folder.mkdir()
    for name, text in demo_files().items():
        (folder / name).write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    names = {}
    for block in blocks(PAGE, "python"):
        assert "members=200" in block or "with_" in block
        exec(block.replace("members=200", QUICK), names)
    assert (
        names["result"].summary
        == powersim.simulate(names["passage"], members=3, step_h=1.0, seed=1).summary
    )
    assert names["answer"]["ensemble"] != names["result"].summary["ensemble"]
    assert names["larger_bank"].boat.battery.capacity_Ah == 300.0
    assert names["warmer"].boat.panels[0].power_W == 150.0
    for changed in (names["larger"], names["earlier"]):
        assert changed.summary["ensemble"] != names["result"].summary["ensemble"]


def test_every_name_of_the_package_is_on_the_page():
    text = PAGE.read_text("utf-8")
    named = set(re.findall(r"powersim\.(\w+)\(", text))
    assert named == set(powersim.__all__) - {"Comparison", "Passage", "Result", "__version__"}
