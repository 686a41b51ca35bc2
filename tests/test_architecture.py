"""House rules that no linter knows."""

import ast
import re
import subprocess
from functools import cache
from pathlib import Path

import pytest

pytestmark = pytest.mark.once

ROOT = Path(__file__).resolve().parents[1]
LONGEST_FILE = 400
MOST_STATEMENTS = 30
BANNED_NAMES = {"data", "info", "manager", "helper", "utils", "common", "process", "handle"}
# Names that a framework asks for.
GIVEN_NAMES = {"handle"}
# Services that the scheduler, a command or a secret link calls: nobody is signed in to act.
WITHOUT_ACTOR = {
    "devplans/goals": {"write_due_reviews"},
    "devplans/digests": {"plan_due", "plan_week", "build_digest", "draft", "stop_digests",
                         "close_link", "forget_links"},
    "devplans/film": {
        "prepare_film", "prepare_next_film", "run_fetch", "sweep", "sweep_fetches",
    },
    "devplans/feedback": {"cut_clip", "cut_waiting"},
    "devplans/people": {
        "invite_founder", "set_up_club", "join_with_new_account", "make_account",
        "stop_mails", "resume_mails",
        "join_phone",
    },
    "devplans/talkthrough": {
        "suggest", "suggest_safely", "understand_now", "understand_waiting", "begin",
    },
}  # fmt: skip


@cache
def tracked(*endings: str) -> list[Path]:
    """Files that belong to the repository, also those that are not committed yet."""
    listing = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    paths = sorted({ROOT / name for name in listing.split("\0") if name})
    return [path for path in paths if path.exists() and (not endings or path.suffix in endings)]


def named(path: Path) -> str:
    return str(path.relative_to(ROOT))


def sources(*, tests: bool = False, migrations: bool = False) -> list[Path]:
    found = []
    for path in tracked(".py"):
        parts = path.relative_to(ROOT).parts
        if (tests or parts[0] != "tests") and (migrations or "migrations" not in parts):
            found.append(path)
    return found


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def functions(path: Path) -> list[ast.FunctionDef | ast.AsyncFunctionDef]:
    kinds = ast.FunctionDef | ast.AsyncFunctionDef
    return [node for node in ast.walk(tree(path)) if isinstance(node, kinds)]


def test_the_lists_are_not_empty():
    """All else here would pass on nothing."""
    assert len(sources()) > 30
    assert len(tracked(".html")) > 10


def test_no_file_is_too_long():
    code = [*sources(tests=True), *tracked(".js", ".css", ".html")]
    lengths = {named(path): len(path.read_text(encoding="utf-8").splitlines()) for path in code}
    assert {name: count for name, count in lengths.items() if count > LONGEST_FILE} == {}


def statements(function: ast.AST) -> int:
    inner = [n for n in ast.walk(function) if isinstance(n, ast.stmt)]
    return len(inner) - 1


def test_no_function_is_too_long():
    found = {
        f"{named(path)}:{function.name}": count
        for path in sources()
        for function in functions(path)
        if (count := statements(function)) > MOST_STATEMENTS
    }
    assert found == {}


def unscoped(path: Path) -> list[str]:
    """`X.objects.filter`, `.all`, `.get` and their like: rows taken past `visible_to`."""
    found = []
    for node in ast.walk(tree(path)):
        if (
            isinstance(node, ast.Attribute)
            and node.attr in {"filter", "all", "get", "exclude", "values", "values_list", "first"}
            and isinstance(node.value, ast.Attribute)
            and node.value.attr in {"objects", "_base_manager", "_default_manager"}
        ):
            found.append(f"{named(path)}:{node.lineno}")
    return found


def test_pages_and_api_begin_with_what_the_user_may_see():
    edges = [p for p in sources() if p.stem in {"views", "api"} or "views" in p.parent.name]
    assert edges
    assert [place for path in edges for place in unscoped(path)] == []


def is_service_file(path: Path) -> bool:
    return path.stem == "services" or path.parent.name == "services"


def complaint(path: Path, function: ast.FunctionDef) -> str:
    given = function.args
    if given.args or given.posonlyargs or given.vararg:
        return "takes positional arguments"
    app = "/".join(path.relative_to(ROOT).parts[:2])
    first = given.kwonlyargs[0].arg if given.kwonlyargs else ""
    if first != "actor" and function.name not in WITHOUT_ACTOR.get(app, set()):
        return "does not begin with actor"
    return ""


def services(path: Path) -> list[ast.FunctionDef]:
    found = [node for node in tree(path).body if isinstance(node, ast.FunctionDef)]
    return [function for function in found if not function.name.startswith("_")]


def test_services_take_keywords_only_and_the_actor_first():
    files = [path for path in sources() if is_service_file(path)]
    assert files
    wrong = [
        f"{named(path)}:{function.name} {told}"
        for path in files
        for function in services(path)
        if (told := complaint(path, function))
    ]
    assert wrong == []


def test_services_know_no_request():
    wrong = [
        f"{named(path)}:{function.name}"
        for path in sources()
        if is_service_file(path)
        for function in functions(path)
        if "request" in {a.arg for a in [*function.args.args, *function.args.kwonlyargs]}
    ]
    assert wrong == []


def imports(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            found.add(node.module or "")
    return found


def test_migrations_import_nothing_that_may_change_under_them():
    allowed = re.compile(r"devplans\.core\.(ids|days)$")
    wrong = {
        named(path): ours
        for path in sources(migrations=True)
        if "migrations" in path.parts
        and (
            ours := {
                name
                for name in imports(path)
                if name.split(".")[0] in {"devplans", "portal"} and not allowed.match(name)
            }
        )
    }
    assert wrong == {}


def defined_names(path: Path) -> set[str]:
    kinds = ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef
    own = {node.name for node in ast.walk(tree(path)) if isinstance(node, kinds)}
    return own | {path.stem}


def test_no_name_that_says_nothing():
    wrong = {
        named(path): bad
        for path in sources()
        if (bad := {n for n in defined_names(path) if n.lower() in BANNED_NAMES - GIVEN_NAMES})
    }
    assert wrong == {}


def pages() -> list[Path]:
    """Templates of pages; a mail's cannot do without style attributes."""
    return [path for path in tracked(".html") if "email" not in path.parts]


TEMPLATE_RULES = {
    "inline script": re.compile(
        r"<script(?![^>]*\bsrc=)(?![^>]*type=\"application/json\")[^>]*>", re.I
    ),
    "inline style sheet": re.compile(r"<style\b", re.I),
    "style attribute": re.compile(r"<[^>]*\sstyle\s*=", re.I),
    "event attribute": re.compile(r"<[^>{%]*\son[a-z]+\s*=", re.I),
    "hx-on": re.compile(r"\bhx-on\b|\bhx-on:", re.I),
    "script address": re.compile(r"javascript:|[\"']js:", re.I),
    "filtered trigger": re.compile(r"hx-trigger\s*=\s*\"[^\"]*\[", re.I),
    "address of another host": re.compile(r"(?:src|href)=\"(?:https?:)?//", re.I),
}


@pytest.mark.parametrize("rule", TEMPLATE_RULES)
def test_templates_keep_to_the_content_policy(rule):
    texts = {named(path): path.read_text(encoding="utf-8") for path in pages()}
    assert [name for name, text in texts.items() if TEMPLATE_RULES[rule].search(text)] == []


@pytest.mark.parametrize(
    ("rule", "bad"),
    [
        ("inline script", "<script>go()</script>"),
        ("inline style sheet", "<style>p {}</style>"),
        ("style attribute", '<p class="a" style="x">'),
        ("event attribute", '<a href="#" onclick="x">'),
        ("hx-on", '<p hx-on:click="x">'),
        ("script address", '<a href="javascript:x">'),
        ("filtered trigger", '<p hx-trigger="click[ctrlKey]">'),
        ("address of another host", '<img src="//cdn.example/a.png">'),
    ],
)
def test_each_template_rule_finds_what_it_is_for(rule, bad):
    assert TEMPLATE_RULES[rule].search(bad)


MACHINE_PATHS = re.compile(r"(?<![\w.])/(?:work|home/[a-z]|Users|root)/")


def test_no_path_of_somebodys_machine():
    texts = [p for p in tracked() if p.suffix not in {".png", ".mp4", ".mov", ".webm", ".jpg"}]
    wrong = []
    for path in texts:
        if path != Path(__file__) and MACHINE_PATHS.search(path.read_text("utf-8", "replace")):
            wrong.append(named(path))
    assert wrong == []


def test_nothing_is_left_for_later():
    marks = re.compile("|".join(["TO" + "DO", "FIX" + "ME", "XX" + "X"]))
    texts = [*sources(tests=True), *tracked(".js", ".css", ".html", ".md")]
    assert [named(p) for p in texts if marks.search(p.read_text(encoding="utf-8"))] == []
