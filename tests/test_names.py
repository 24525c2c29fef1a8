"""One word, one meaning: no public type of the program, class or alias, has the name of another."""

import ast
import re
from collections import Counter, defaultdict
from pathlib import Path

import pytest

import recover

pytestmark = pytest.mark.quick


def types(sources):
    """Return each public type's name, a class or an alias of one, with the files that define it."""
    found = defaultdict(list)
    for file, text in sources:
        for node in ast.parse(text).body:
            for name in _defined(node):
                found[name].append(file)
    return found


def _defined(node):
    if isinstance(node, ast.ClassDef):
        names = [node.name]
    elif isinstance(node, ast.Assign) and not ast.unparse(node.value).startswith("TypeVar("):
        names = [one.id for one in node.targets if isinstance(one, ast.Name) and not one.id.isupper()]
    else:
        names = []
    return [name for name in names if name[0].isupper()]


def twice(sources):
    """Return the names that stand more than once, with their files."""
    return {name: files for name, files in types(sources).items() if len(files) > 1}


def test_no_public_type_has_a_name_that_stands_twice():
    root = Path(recover.__file__).parent

    assert twice((str(file.relative_to(root)), file.read_text("utf-8")) for file in sorted(root.rglob("*.py"))) == {}


def test_a_name_that_stands_twice_is_found_and_a_private_one_is_nobodys_business():
    one = 'class Hold: ...\nclass _File: ...\nKind = Literal["a"]\nT = TypeVar("T")\nLEAST_H = 1'
    other = 'class Hold: ...\nclass _File: ...\nclass Kind: ...\nT = TypeVar("T")\nLEAST_H = 1'

    assert twice([("a.py", one), ("b.py", other)]) == {"Hold": ["a.py", "b.py"], "Kind": ["a.py", "b.py"]}


def test_no_module_name_stands_twice():
    """But for a room's own: its `__init__`."""
    root = Path(recover.__file__).parent
    files = [one for one in root.rglob("*.py") if one.name not in ("__init__.py", "__main__.py")]
    names = Counter([one.stem for one in files] + [one.parent.name for one in root.glob("*/__init__.py")])

    assert [name for name, times in names.items() if times > 1] == []


def test_every_module_stands_in_the_map_of_its_room():
    """Whoever looks for a file finds its name beside what its room answers."""
    root = Path(recover.__file__).parent
    guide = (root.parent / "DEVELOPERS.md").read_text("utf-8")
    rows = dict(re.findall(r"^\| `(\w+)/` \| .* \| (.*) \|$", guide, re.M))
    files = [one for one in root.glob("*/*.py") if one.name != "__init__.py"]

    assert [str(one.relative_to(root)) for one in files if f"`{one.stem}`" not in rows[one.parent.name]] == []
