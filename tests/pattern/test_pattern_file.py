"""Pattern files: what they say, and what is wrong with them, by line."""

from pathlib import Path

import pytest

import seamtree
from seamtree.pattern.pattern_file import PatternFileError, parse_pattern, print_pattern, read_blocks
from tests.cli.running import run
from tests.support.wkt import FOUR_PATCH

SAMPLES = Path(__file__).parents[2] / "samples"


@pytest.fixture
def write(tmp_path):
    (tmp_path / "four.wkt").write_text(FOUR_PATCH, encoding="utf-8")

    def written(text):
        path = tmp_path / "wall.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return written


FULL = """[pattern]
title = "Harbour wall"
by = "The net loft"
notes = "Mind the gulls."
paper = "letter"
lengths = "cm"

[[fabric]]
code = "Sk"
name = "sky"
colours = ["#A9CFE6", "waves"]
width = "100cm"

[[block]]
drawing = "four.wkt"
title = "Four"
width = [6, "15cm"]
copies = 6
mirrored = 2
skip_layers = ["notes"]

[setting]
across = 3
down = 4
sashing = 1.5
borders = [2, "10cm"]
backing = true
binding = 2.5
"""


def test_everything_is_read(write):
    file = parse_pattern(write(FULL))
    assert (file.title, file.by, file.notes, file.paper, file.metric) == (
        "Harbour wall",
        "The net loft",
        "Mind the gulls.",
        "letter",
        True,
    )
    (fabric,) = file.fabrics
    assert (fabric.code, fabric.name, fabric.colours) == ("Sk", "sky", ("#a9cfe6", "waves"))
    assert fabric.width == pytest.approx(100 / 2.54)
    (block,) = file.blocks
    assert (block.widths[0], block.copies, block.mirrored, block.skip_layers) == (6, 6, 2, ("notes",))
    assert block.widths[1] == pytest.approx(15 / 2.54)
    assert (file.setting.across, file.setting.down, file.setting.backing) == (3, 4, True)
    assert len(read_blocks(write(FULL.replace('skip_layers = ["notes"]', "")), tolerance=0.02)) == 2


BLOCK = '[[block]]\ndrawing = "four.wkt"\n'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (BLOCK + "copeis = 2", "line 3: [[block]] has no key 'copeis'; is it 'copies'?"),
        ("[patern]\n" + BLOCK, "line 1: there is no table [patern]; is it 'pattern'?"),
        ('[[block]]\ndrawing = "gone.svg"', "line 2: there is no drawing 'gone.svg'"),
        (BLOCK + "copies = 0", "line 3: copies is a whole number from 1 to 1000, not 0"),
        (BLOCK + "mirrored = 3", "line 3: 3 cannot be mirrored of 1"),
        (BLOCK + "width = 0", "line 3: width cannot be 0"),
        (BLOCK + 'width = "wide"', "line 3: 'wide' is no length"),
        (
            '[[fabric]]\ncode = "Nb"\n[[fabric]]\ncode = "Nb"\n' + BLOCK,
            "line 4: the code 'Nb' is that of the fabric in",
        ),
        ('[[fabric]]\ncode = "A1"\n' + BLOCK, "line 2: the code 'A1' can be taken for"),
        ('[pattern]\npaper = "foolscap"\n' + BLOCK, "line 2: there is no paper 'foolscap'"),
        ("[pattern]\n", "line 1: there is no [[block]]"),
        ("[setting]\nacross = 2\n" + BLOCK, "[setting] says how many blocks lie down"),
        ("[[block]\n", "is no TOML file"),
    ],
)
def test_what_is_wrong_is_told_with_its_line(write, text, said):
    path = write(text)
    with pytest.raises(PatternFileError) as error:
        parse_pattern(path)
    assert said in str(error.value)
    assert str(path) in str(error.value)


def test_all_faults_are_told_together(write):
    with pytest.raises(PatternFileError) as error:
        parse_pattern(write(BLOCK + "copies = 0\nmirrored = -1\nsize = 3"))
    assert [fault.partition(":")[0] for fault in error.value.faults] == ["line 3", "line 4", "line 5"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[[fabric]]\ncode = "Nb"\ncolours = ["#123456"]\n' + BLOCK, "line 2: the fabric 'Nb' stands for nothing"),
        (BLOCK + "[setting]\nacross = 3\ndown = 3\n", "line 3: the setting has room for 3 × 3 = 9 blocks, but 1"),
        (BLOCK + "copies = 0", "line 3: copies"),
        (BLOCK + BLOCK + "width = 0.2", "wall.toml: line 5: four.wkt: The drawing is 0.2 by 0.2 in"),
        (BLOCK + "title = 'x'\nwidth = [6, 0.2]", "wall.toml: line 4: four.wkt: The drawing is 0.2 by 0.2 in"),
    ],
)
def test_a_pattern_file_that_cannot_be_packed_leaves_the_old_pack(write, tmp_path, text, said):
    output = tmp_path / "old.pdf"
    output.write_bytes(b"old")
    told = run("pack", str(write(text)), "-o", str(output))
    assert told.exit_code == 2
    assert said in told.stderr
    assert output.read_bytes() == b"old"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["four.wkt", "old.pdf", "wall.toml"]


def test_a_size_at_which_a_patch_is_narrower_than_a_needle_is_refused(write):
    path = write(BLOCK)
    file = parse_pattern(path)
    (block,) = seamtree.read(path.parent / "four.wkt", width=0.06, tolerance=0.0001)
    with pytest.raises(
        PatternFileError, match=r"line 2: at a width of 0.06 in the patch at .* narrower than a needle"
    ):
        file.check_block(file.blocks[0], block)


def test_a_size_at_which_patches_are_closed_up_is_refused(write, tmp_path):
    strips = [f"POLYGON (({x} 0, {x + w} 0, {x + w} 6, {x} 6, {x} 0))" for x, w in ((0, 3), (3, 0.3), (3.3, 2.7))]
    path = write('[[block]]\ndrawing = "strips.wkt"\nwidth = [6, 0.6]\n')
    (tmp_path / "strips.wkt").write_text("\n".join(strips), encoding="utf-8")
    told = run("pack", str(path), "-o", str(tmp_path / "x.pdf"))
    assert told.exit_code == 2
    assert "wall.toml: line 3: at a width of 0.6 in 1 of the 3 patches of strips.wkt are too narrow" in told.stderr
    assert not (tmp_path / "x.pdf").exists()


@pytest.mark.parametrize("command", ["check", "follow"])
def test_other_commands_tell_the_line_of_a_drawing_too(write, tmp_path, command):
    path = write(BLOCK + BLOCK + "width = 0.2")
    more = ("-o", str(tmp_path / "x.html")) if command == "follow" else ()
    told = run(command, str(path), *more)
    assert told.exit_code == 2
    assert "wall.toml: line 5: four.wkt: The drawing is 0.2 by 0.2 in" in told.stderr
    assert "inches with `width`" in told.stderr  # a key of the file, and not the option of the command


def test_a_pattern_is_packed_and_checked(write, tmp_path):
    path = write(BLOCK + 'copies = 4\nmirrored = 2\ntitle = "Four"\n[setting]\nacross = 2\ndown = 2\n')
    told = run("pack", str(path), "-o", str(tmp_path / "x.pdf"), "--json")
    assert told.exit_code == 0, told.stderr
    assert '"copies": 4' in told.stdout
    assert run("check", str(path)).exit_code == 0


def test_a_printed_pattern_file_can_be_read(tmp_path):
    drawing = SAMPLES / "dinghy.svg"
    text = print_pattern([(str(drawing), seamtree.read(drawing))], title='My "dinghy"')
    path = tmp_path / "dinghy.toml"
    path.write_text(text, encoding="utf-8")
    file = parse_pattern(path)
    assert file.title == 'My "dinghy"'
    file.check_fabrics({patch.fabric for patch in seamtree.read(drawing)[0].patches})
    assert run("pack", "--print-pattern", str(drawing)).stdout.startswith("[pattern]")
