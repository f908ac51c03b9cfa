"""From a file to a record or to every fault at once: messages whole, lines right, and never another exception."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from assembly.errors import ConfigError, ExportError, InputError, escaped
from assembly.files.key_lines import key_lines
from assembly.files.reading import maker, read_design, read_workshop
from assembly.files.shipped import configs_folder, new_design, shipped

DEMO = shipped("frost_watch").read_text(encoding="utf-8")
TOOLS = shipped("new_to_tools").read_text(encoding="utf-8")


def written(folder, text, name="box.toml"):
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def refusal(path, *args, read=read_design):
    with pytest.raises(ConfigError) as caught:
        read(path, *args)
    header, *lines = str(caught.value).splitlines()
    assert header == f"{escaped(str(path))}: {len(lines)} to fix"
    return [line.removeprefix("  ") for line in lines]


def edited(folder, old, new, text=DEMO):
    assert text.count(old) == 1
    return written(folder, text.replace(old, new))


def line_of(text, start):
    """Count lines up to the only one that starts so: a second way to a line's number."""
    [number] = [number for number, line in enumerate(text.splitlines(), 1) if line.startswith(start)]
    return number


ALL_AT_ONCE = """\
name = ""
made_by = "new_to_tool"
makers = 26.5
glue_limit = nan
glueup = "squared"
required_share = 80

[box]
length = 6.3
width = -90
height = true

[timber]
name = "pine, Scots"
lapped = 15
plan = 10
lap_share = 0.95

[base]
material = 3
thickness = "4 mm"

[lid]
material = "birch plywood"
thickness = 9
centre_hole = 8
screw = { diameter = 3.5, length = 30, head = 7,
  hole = 3, pilot = 4, colour = "brass" }

[plaque]
thickness = 3
width = 90
flat_leg = 50
upright_leg = 32
side = "bak"
inside_radius = 3
stem_hole = 7
hole_spacing = [60]
stem_to_bend = inf
wording = "two\\nlines"
screw = 5

[cable_hole]

[limits]
joint_gap.max = -1
step = {}
lean = { min = 2, within = 1 }
""".replace(  # TOML inline tables stay on one line
    "head = 7,\n ", "head = 7,"
)


def test_every_fault_of_a_file_comes_at_once_with_its_line(tmp_path):
    assert refusal(written(tmp_path, ALL_AT_ONCE)) == [
        "line 1: name: got '', which is empty (what the box is called)",
        (
            "line 2: made_by: got 'new_to_tool', no such workshop; did you mean 'new_to_tools'? give the path "
            "of a workshop file, or a shipped one: new_to_tools, practised"
        ),
        "line 3: makers: got 26.5, must be a whole number (how many makers a class has, a box each)",
        "line 4: glue_limit: got nan, must be a finite number of mm (the widest gap that the glue still closes)",
        "line 5: glueup: unknown key; did you mean 'glue_up'?",
        "line 6: required_share: got 80, must be over 0 and at most 1; 80 % is 0.8: write 0.8",
        (
            "line 9: box.length: got 6.3, must be 40 to 1200 mm; lengths are in mm: 6.3 cm is 63: write 63; 6.3 in is "
            "160.02: write 160.02"
        ),
        "line 10: box.width: got -90, must be 40 to 1200 mm (outside width of the wall frame)",
        "line 11: box.height: got true, must be a number of mm (height of the walls)",
        "line 16: timber.plan: unknown key; did you mean 'plain'?",
        (
            "line 17: timber.lap_share: got 0.95, must be 0.1 to 0.9 (depth of the lap as a share of the "
            "lapped thickness)"
        ),
        "line 20: base.material: got 3, must be text in double quotes (the sheet, by name)",
        (
            "line 21: base.thickness: got '4 mm', must be a number of mm; write 4, without its unit (thickness of the "
            "sheet)"
        ),
        "line 27: lid.screw.colour: unknown key; keys here are diameter, length, head, hole, pilot, round_head",
        "line 34: plaque.side: got 'bak', must be one of 'front', 'back', 'left', 'right'; did you mean 'back'?",
        (
            "line 37: plaque.hole_spacing: got an array, must be a number of mm (distance between the two "
            "screw holes, along the bend line)"
        ),
        (
            "line 38: plaque.stem_to_bend: got inf, must be a finite number of mm (from the lid's middle, where the "
            "stem is, to the outside of the standing leg)"
        ),
        (
            "line 39: plaque.wording: got 'two\\nlines', in which character 4 is '\\n'; must be one line of text, "
            "without tabs, control characters, direction marks or a space in front"
        ),
        "line 40: plaque.screw: got 5, must be a table of keys",
        "line 42: cable_hole.diameter: missing; add diameter = ..., diameter of the hole, in mm",
        "line 45: limits.joint_gap: asks for at most -1, but it is never under 0; raise the limit",
        "line 46: limits.step: says nothing; give max, min or within, or leave the line out",
        "line 47: limits.lean: asks for at least 2 and at most 1; no box can keep both",
    ]


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("plain = 10", "plain = 0", "timber.plain: got 0, must be 3 to 60 mm (thickness of the plain walls)"),
        (
            "plain = 10",
            "plain = -inf",
            "timber.plain: got -inf, must be a finite number of mm (thickness of the plain walls)",
        ),
        ("plain = 10", "plain = 1e300", "timber.plain: got 1e+300, must be 3 to 60 mm (thickness of the plain walls)"),
        (
            "plain = 10",
            f"plain = 1{'0' * 60}",
            "timber.plain: got a number of more than 40 digits, must be 3 to 60 mm (thickness of the plain walls)",
        ),
        (
            "plain = 10",
            "plain = 0.375",
            (
                "timber.plain: got 0.375, must be 3 to 60 mm; lengths are in mm: 0.375 cm is 3.75: write 3.75; "
                "0.375 in is 9.525: write 9.525"
            ),
        ),
        (
            "plain = 10",
            "plain = 2020-01-01",
            "timber.plain: got 2020-01-01, must be a number of mm (thickness of the plain walls)",
        ),
        ('name = "Frost watch"', f'name = "{"x" * 61}"', "name: got 61 characters, must be at most 60; shorten it"),
        (
            'name = "Frost watch"',
            'name = " x"',
            (
                "name: got ' x', must be one line of text, without tabs, control characters, direction marks or a "
                "space in front"
            ),
        ),
        (
            "required_share = 0.8",
            "required_share = 1.5",
            "required_share: got 1.5, must be over 0 and at most 1 (share of boxes that must keep every limit)",
        ),
        (
            "glue_limit = 0.2",
            "glue_limit = 0",
            "glue_limit: got 0, must be over 0 mm and at most 2 mm (the widest gap that the glue still closes)",
        ),
        ("makers = 26", "makers = 0", "makers: got 0, must be 1 to 1000000 (how many makers a class has, a box each)"),
    ],
)
def test_one_fault_of_a_value_is_told_whole(tmp_path, old, new, message):
    assert refusal(edited(tmp_path, old, new)) == [f"line {line_of(DEMO, old)}: {message}"]


def test_a_fault_of_fit_stands_beside_faults_of_other_sections(tmp_path):
    """The box and the timber are sound on their own, so their rules run although the lid's table is not."""
    text = DEMO.replace("plain = 10", "plain = 41").replace("centre_hole = 8", 'centre_hole = "8"')
    assert refusal(written(tmp_path, text)) == [
        (
            f"line {line_of(DEMO, '[box]') + 2}: box.width: got 90 mm, but two laps of 41 mm with 10 mm "
            "between them (shop rule 2, project choice) need 92 mm; raise width or make timber.plain thinner"
        ),
        (
            f"line {line_of(DEMO, 'centre_hole')}: lid.centre_hole: got '8', must be a number of mm, without quotes "
            "or a unit (hole in the middle of the lid)"
        ),
    ]


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "file: is empty; `lapwright new FILE` writes a design to start from"),
        (b" \n\n", "file: is empty; `lapwright new FILE` writes a design to start from"),
        (
            b'name = "a"\nx = "\xe9"\n',
            "line 2: text: byte 17 of the file (0xe9) is not UTF-8; save the file as UTF-8 text",
        ),
        (
            b"[box]\nlength = 160 mm\n",
            ("line 2: column 14: can't be read: 'length = 160 mm'; write 160, without its unit"),
        ),
        (
            b"[box]\nlength = 160\nlength = 170\n",
            (
                "line 3: column 13: can't be read: 'length = 170'; this key or table was given before; keep one "
                "of the two"
            ),
        ),
        (
            b"[box]\nlength =",
            ("line 2: column 9: can't be read: 'length ='; a value is missing behind the ="),
        ),
        (b"x = " + b"[" * 5000, "file: is nested too deeply to be read; a design needs tables three deep at the most"),
    ],
)
def test_a_file_that_is_no_design_at_all_is_told_in_one_line(tmp_path, data, message):
    assert refusal(written(tmp_path, data)) == [message]


def test_what_is_not_a_file_is_told_in_one_line(tmp_path):
    names = "frost_watch, label_box, seed_box, starter"
    assert refusal(tmp_path) == ["file: is a folder; give the path of a TOML file"]
    assert refusal(tmp_path / "no.toml") == [
        f"file: does not exist; give the path of a file, or a shipped one: {names}"
    ]
    assert refusal("frost_wach") == [
        f"file: does not exist; did you mean 'frost_watch'? give the path of a file, or a shipped one: {names}"
    ]
    assert refusal("a\0b") == [f"file: does not exist; give the path of a file, or a shipped one: {names}"]
    assert refusal("practised") == [
        "file: this is a workshop file, but a design file is wanted here; give the design's file"
    ]
    assert refusal("frost_watch", read=read_workshop) == [
        "file: this is a design file, but a workshop file is wanted here; give the workshop's file"
    ]
    assert refusal("pratised", read=read_workshop) == [
        (
            "file: no such workshop; did you mean 'practised'? give the path of a workshop file, or a shipped "
            "one: new_to_tools, practised"
        )
    ]


def test_a_file_without_permission_is_told(tmp_path, monkeypatch):
    def denied(_):
        raise PermissionError(13, "Permission denied")

    path = written(tmp_path, DEMO)
    monkeypatch.setattr(Path, "read_bytes", denied)
    assert refusal(path) == ["file: can't be read (no permission); change its permissions or copy it"]


def test_settings_are_tried_and_their_faults_name_them():
    design = read_design(
        "frost_watch", ["timber.plain=9", "name=Bench box", 'plaque.wording="A=B"', "limits.step.max=0.3"]
    )
    assert (design.timber.plain, design.name, design.plaque.wording) == (9, "Bench box", "A=B")
    assert design.limits.step is not None
    assert design.limits.step.max == 0.3
    words = [
        "timber.plain=-9",
        "box.wid=3",
        "x",
        "=3",
        "a b=3",
        "box.width.x=2",
        "lid.thickness=",
        "made_by=nobody",
        "base=3",
    ]
    assert refusal("frost_watch", words) == [
        "--set x: got 'x', must be key=value with a dotted key, as in timber.plain=9",
        "--set: got '=3', must be key=value with a dotted key, as in timber.plain=9",
        "--set a b: got 'a b=3', must be key=value with a dotted key, as in timber.plain=9",
        "--set box.width.x: box.width is a value and has no keys of its own; set it whole",
        "--set box.wid: unknown key; did you mean 'width'?",
        "--set timber.plain: got -9, must be 3 to 60 mm (thickness of the plain walls)",
        "--set base: got 3, must be a table of keys",
        "--set lid.thickness: got '', must be a number of mm, without quotes or a unit (thickness of the sheet)",
        (
            "--set made_by: got 'nobody', no such workshop; give the path of a workshop file, or a shipped "
            "one: new_to_tools, practised"
        ),
    ]


def test_a_setting_of_fit_is_named_where_it_is_at_fault():
    assert refusal("frost_watch", ["cable_hole.diameter=43"]) == [
        (
            "--set cable_hole.diameter: got 43 mm, which leaves 1 mm of the back wall above and below it; at "
            "least 2 mm is needed (shop rule 3, project choice); at most 41 mm fits"
        )
    ]


def test_settings_reach_the_workshop():
    words = [
        "workshop.saw.offset.spread=0.2",
        "workshop.shoulder_from=drawing",
        "workshop.pare.rounds=1",
        "timber.plain=9",
    ]
    design = read_design("frost_watch", words)
    workshop = maker(design, "frost_watch", settings=words)
    assert workshop.name == "New to tools"
    assert (workshop.shoulder_from, workshop.pare.rounds) == ("drawing", 1)
    assert workshop.disturbance("saw.offset").model_dump() == {
        "bias": 0.8, "class_spread": 0.0, "maker_spread": 0.3, "spread": 0.2, "family": "normal",
    }  # fmt: skip
    assert maker(design, "frost_watch", override="practised").name == "Practised"


def test_faults_of_workshop_settings_name_them():
    words = [
        "workshop.saw.offset.spread=-1",
        "workshop.saw.plan.spread=90",
        "workshop.swa.offset.bias=1",
        "workshop.sholder_from=part",
        "workshop.gauge_from=mid",
        'workshop.aids.stop_block.replaces."saw.offset".bias=30',
        "workshop.aids.depth_stop.replaces.gauge.offset.bias=1",
        "workshop.aids.rule.title=a rule",
    ]
    with pytest.raises(ConfigError) as caught:
        maker(read_design("frost_watch"), "frost_watch", settings=words)
    assert str(caught.value).splitlines() == [
        "new_to_tools: 8 to fix",
        "  --set workshop.gauge_from: got 'mid', must be one of 'inside', 'outside'",
        (
            "  --set workshop.saw.offset.spread: got -1, must be 0 to 20 mm (standard deviation of the part "
            "drawn anew for each cut)"
        ),
        (
            "  --set workshop.saw.plan.spread: got 90, must be 0 to 20 degrees (standard deviation of the part "
            "drawn anew for each cut)"
        ),
        "  --set workshop.swa.offset.bias: unknown key; did you mean 'saw'?",
        '  --set workshop.aids.stop_block.replaces."saw.offset".bias: got 30, must be -20 to 20 mm (mean error)',
        (
            "  --set workshop.aids.depth_stop.replaces.gauge.offset.bias: write the row's name in quotes: "
            '"gauge.offset" = { ... }'
        ),
        (
            "  --set workshop.aids.rule.title: replaces: missing; add a table [aids.rule.replaces] (rows by "
            "their dotted name, `saw.offset` for one)"
        ),
        "  --set workshop.sholder_from: unknown key; did you mean 'shoulder_from'?",
    ]


def test_a_setting_that_makes_limits_contradict_is_named():
    assert refusal("frost_watch", ["limits.lean.min=2"]) == [
        "--set limits.lean.min: asks for at least 2 and at most 1.3; no box can keep both"
    ]


def test_an_aid_that_replaces_no_row_is_told(tmp_path):
    path = edited(tmp_path, '"saw.plan" = {', '"saw.pln" = {', TOOLS)
    assert refusal(path, read=read_workshop) == [
        (
            f"line {line_of(TOOLS, chr(34) + 'saw.plan')}: aids.saw_guide.replaces.saw.pln: no such row; "
            "did you mean 'saw.plan'?"
        )
    ]


def test_a_workshop_is_found_from_the_designs_folder(tmp_path, monkeypatch):
    written(tmp_path, TOOLS.replace('"New to tools"', '"Room 3"'), "room.toml")
    path = edited(tmp_path, 'made_by = "new_to_tools"', 'made_by = "room.toml"')
    monkeypatch.chdir("/")
    design = read_design(path)
    assert maker(design, path).name == "Room 3"
    assert read_workshop("room.toml", tmp_path).name == "Room 3"


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm(tmp_path):
    path = written(tmp_path, b"\xef\xbb\xbf" + DEMO.replace("\n", "\r\n").encode())
    assert read_design(path) == read_design("frost_watch")
    path = written(tmp_path, b"\xef\xbb\xbf" + DEMO.replace("\n", "\r\n").replace("plain = 10", "plain = 0").encode())
    assert refusal(path) == [
        f"line {line_of(DEMO, 'plain = 10')}: timber.plain: got 0, must be 3 to 60 mm (thickness of the plain walls)"
    ]


def test_the_line_of_every_key_is_known():
    """Lines counted by hand: dotted and quoted keys, inline tables, arrays, tables of an array and below it."""
    text = b"""\
a.b = 1
[box]
length = 3 # c
"quo.ted" = {x = 1, y.z = [1,
 {k = 2}]}
[[stock]]
n = 1
[[stock]]
'n' = 2
[stock.sub]
q = 1
[a.c."d\\u0065"]
e = 'x'
"""
    assert key_lines(text) == {
        ("a",): 1, ("a", "b"): 1, ("box",): 2, ("box", "length"): 3, ("box", "quo.ted"): 4, ("box", "quo.ted", "x"): 4,
        ("box", "quo.ted", "y"): 4, ("box", "quo.ted", "y", "z"): 4, ("box", "quo.ted", "y", "z", 0): 4,
        ("box", "quo.ted", "y", "z", 1): 5, ("box", "quo.ted", "y", "z", 1, "k"): 5, ("stock",): 6, ("stock", 0): 6,
        ("stock", 0, "n"): 7, ("stock", 1): 8, ("stock", 1, "n"): 9, ("stock", 1, "sub"): 10,
        ("stock", 1, "sub", "q"): 11, ("a", "c"): 12, ("a", "c", "de"): 12, ("a", "c", "de", "e"): 13,
    }  # fmt: skip


def test_a_shipped_name_is_a_file_of_the_configs_folder():
    assert shipped("seed_box") == configs_folder() / "seed_box.toml"
    with pytest.raises(
        InputError, match=re.escape("seed_tin: no such file ships with lapwright; there are frost_watch, ")
    ):
        shipped("seed_tin")


def test_a_new_design_is_the_starter_and_is_never_written_over(tmp_path):
    path = tmp_path / "mine.toml"
    assert new_design(path) == path
    assert read_design(path) == read_design("starter")
    assert path.read_text(encoding="utf-8").startswith("# Your design.")
    with pytest.raises(InputError) as caught:
        new_design(path)
    assert str(caught.value) == f"{path}: is there already and is not overwritten; give another name or move it away"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize(
    ("name", "written_as"),
    [("other", "other.toml"), ("other.box", "other.box.toml"), ("Other.TOML", "Other.TOML"), ("a.b/c", "a.b/c.toml")],
)
def test_a_new_design_ends_in_toml_whatever_its_name(tmp_path, name, written_as):
    (tmp_path / "a.b").mkdir()
    path = tmp_path / written_as
    assert new_design(tmp_path / name) == path
    assert read_design(path) == read_design("starter")
    with pytest.raises(InputError) as caught:
        new_design(tmp_path / name)
    assert str(caught.value) == f"{path}: is there already and is not overwritten; give another name or move it away"


def test_a_name_without_its_ending_is_offered_with_it(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    new_design("other")
    names = "frost_watch, label_box, seed_box, starter"
    assert refusal("other") == [
        f"file: does not exist; did you mean 'other.toml'? give the path of a file, or a shipped one: {names}"
    ]


def test_a_new_design_that_cannot_be_written_leaves_nothing(tmp_path, monkeypatch):
    path = tmp_path / "no" / "mine.toml"
    with pytest.raises(ExportError) as caught:
        new_design(path)
    cure = "give a folder that exists and that you may write to"
    assert str(caught.value) == f"{path}: can't be written (no such file or directory); {cure}"

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(ExportError) as caught:
        new_design(tmp_path / "mine.toml")
    assert str(caught.value) == f"{tmp_path / 'mine.toml'}: can't be written (no space left on device); {cure}"
    assert list(tmp_path.iterdir()) == []


def test_reading_loads_neither_numpy_nor_a_parser():
    code = (
        "import sys; from assembly.files.reading import *; d = read_design('frost_watch'); maker(d, "
        "'frost_watch');print(*sorted({'numpy', 'tree_sitter', 'cadquery', 'OCP', 'scipy', 'pyvista'} & "
        "set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []


# Lines and values as a person writes them


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("glue_limit = 0.2 ", "glue_limit = 0,2 ", "write 0.2, with a point"),
        ("required_share = 0.8 ", "required_share = 80 % ", "80 % is 0.8: write 0.8"),
        ("required_share = 0.8 ", "required_share = 120 % ", "more than 100 % can't be; 80 % is 0.8"),
        ("plain = 10", "plain = 1 cm", "1 cm is 10 mm: write 10"),
        ("plain = 10", "plain = 3/8 in", "3/8 in is 9.525 mm: write 9.525"),
        ("angle = 90", "angle = 90°", "write 90, without its unit"),
        ('name = "Frost watch"', "name = Frost watch", 'text stands in double quotes: name = "Frost watch"'),
        ('"new_to_tools"', '"new_to_tools', "text ends with the same double quote that it begins with"),
        ('"new_to_tools"', "“new_to_tools”", 'text stands in straight double quotes: "'),
        ("[lid]", "[lid", "a table's name stands between [ and ]"),
        ("plain = 10", "plain: 10", "a line is key = value, and here is no ="),
        ("plain = 10", "plain wall = 10", "a key is one word, as the designs that ship spell it"),
    ],
)
def test_a_line_that_can_not_be_read_is_told_what_it_looks_like_it_wants(old, new, told, tmp_path):
    text = shipped("frost_watch").read_text(encoding="utf-8")
    assert old in text
    file = tmp_path / "own.toml"
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(ConfigError) as refusal:
        read_design(file)
    [problem] = refusal.value.problems
    assert problem.line == 1 + text[: text.index(old)].count("\n")
    assert problem.what.startswith("can't be read: ")
    assert problem.what.endswith(f"; {told}")


@pytest.mark.parametrize(
    ("setting", "told"),
    [
        (
            "timber.plain=9,5",
            (
                "--set timber.plain: got '9,5', must be a number of mm; write 9.5, with a point (thickness of the "
                "plain walls)"
            ),
        ),
        (
            "box.length=18 cm",
            (
                "--set box.length: got '18 cm', must be a number of mm; 18 cm is 180 mm: write 180 (outside length of "
                "the wall frame)"
            ),
        ),
        (
            "box.length=18",
            (
                "--set box.length: got 18, must be 40 to 1200 mm; lengths are in mm: 18 cm is 180: write 180; 18 in is "
                "457.2: write 457.2"
            ),
        ),
        ("required_share=80", "--set required_share: got 80, must be over 0 and at most 1; 80 % is 0.8: write 0.8"),
        (
            "required_share=120",
            "--set required_share: got 120, must be over 0 and at most 1; more than 100 % can't be; 80 % is 0.8",
        ),
        ("stem=false", "--set stem: got false; to do without it, take the table [stem] out of the file"),
        (
            "plaque=none",
            "--set plaque: got 'none'; to do without it, take the tables [plaque] and [plaque.screw] out of the file",
        ),
    ],
)
def test_a_value_as_a_person_writes_it_is_told_as_it_is_written_here(setting, told):
    with pytest.raises(ConfigError) as refusal:
        read_design("frost_watch", [setting])
    assert list(map(str, refusal.value.problems)) == [told]


def test_a_table_inside_one_that_was_taken_out_is_told(tmp_path):
    text = shipped("frost_watch").read_text(encoding="utf-8").replace("plaque_spare.min = 0", "")
    start, end = text.index("[plaque]"), text.index("[plaque.screw]")
    file = tmp_path / "own.toml"
    file.write_text(text[:start] + text[end:], encoding="utf-8")
    with pytest.raises(ConfigError) as refusal:
        read_design(file)
    line = 1 + text[:start].count("\n")
    assert list(map(str, refusal.value.problems)) == [
        f"line {line}: plaque.screw: [plaque.screw] is left without [plaque]: take it out, too"
    ]


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("stop_blok", "did you mean 'stop_block'? Aids here: stop_block, saw_guide, depth_stop"),
        ("x", "aids here: stop_block, saw_guide, depth_stop"),
    ],
)
def test_an_aid_that_is_none_is_told_with_those_there_are(name, told):
    with pytest.raises(ConfigError) as refusal:
        read_workshop("new_to_tools", settings=[f"workshop.aids.{name}.used=true"])
    assert list(map(str, refusal.value.problems)) == [f"--set workshop.aids.{name}.used: no aid '{name}'; {told}"]


def test_a_whole_aid_may_be_set():
    given = ["workshop.aids.jig={title = 'a jig', used = true, replaces = {'saw.plan' = {spread = 0.1}}}"]
    assert read_workshop("new_to_tools", settings=given).aids["jig"].used
