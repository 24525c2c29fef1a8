"""One word, one meaning: no public class of the program has the name of another."""

import ast
from collections import defaultdict
from pathlib import Path

import recover


def classes(sources):
    """Return each public class name with the files that define it."""
    found = defaultdict(list)
    for file, text in sources:
        for node in ast.parse(text).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                found[node.name].append(file)
    return found


def twice(sources):
    """Return the names that stand more than once, with their files."""
    return {name: files for name, files in classes(sources).items() if len(files) > 1}


def test_no_public_class_name_stands_twice():
    root = Path(recover.__file__).parent

    assert twice((str(file.relative_to(root)), file.read_text("utf-8")) for file in sorted(root.rglob("*.py"))) == {}


def test_a_name_that_stands_twice_is_found_and_a_private_one_is_nobodys_business():
    one, other = "class Hold: ...\nclass _File: ...", "class Hold: ...\nclass _File: ..."

    assert twice([("a.py", one), ("b.py", other)]) == {"Hold": ["a.py", "b.py"]}
