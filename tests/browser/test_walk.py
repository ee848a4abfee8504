"""A visitor's walk through the pages in a real browser, with axe-core looking on.

axe-core lies beside in axe/ with its licence (MPL-2.0). Widths: 1280 for a desk, 390 for a phone.
"""

import os
import shutil

import pytest

from tests.browser.server import serving

CHROMIUM = shutil.which("chromium") or "/usr/bin/chromium"
ARGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"]
ARGS += ["--disable-background-networking", "--disable-component-update", "--disable-sync"]
AXE = os.path.join(os.path.dirname(__file__), "axe", "axe.min.js")
PAGES = [
    "/",
    "/answer/why?taxon=white perch&not=Percidae",
    "/answer/name?name=redeye",
    "/taxon/Ambloplites-rupestris",
    "/compare?taxon=black crappie&taxon=white crappie",
    "/key?taxon=Ambloplites",
    "/identify?go=1&within=Ambloplites",
    "/waters",
    "/water/Coosa-River",
    "/word/perch",
    "/sources",
    "/source/becker-1983",
    "/statement/Ambloplites-rupestris_placement",
    "/characters",
    "/query?query=SELECT * { ?x a op:GroupWord } LIMIT 3",
    "/api/docs",
]


def _missing(what):
    if os.environ.get("CI"):
        pytest.fail(f"{what} is missing, and in CI the pages must be walked")
    pytest.skip(f"{what} is missing, so the pages are not walked")


@pytest.fixture(scope="module")
def browser():
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        _missing("playwright")
    if not os.path.exists(CHROMIUM):
        _missing("Chromium")
    with sync_playwright() as play:
        one = play.chromium.launch(executable_path=CHROMIUM, args=ARGS)
        yield one
        one.close()


@pytest.fixture(scope="module")
def base(know):
    with serving(know) as address:
        yield address


@pytest.fixture
def page(browser, base):
    """A page that fails the test for an error on the console or a request elsewhere."""
    context = browser.new_context(base_url=base, viewport={"width": 1280, "height": 900})
    one = context.new_page()
    faults = []
    one.on("console", lambda m: faults.append(m.text) if m.type in ("error", "warning") else None)
    one.on("pageerror", lambda e: faults.append(str(e)))
    one.on("request", lambda r: None if r.url.startswith(base) else faults.append(r.url))
    yield one
    context.close()
    assert faults == []


def test_a_question_is_asked_and_its_proof_unfolds_to_a_cited_fact(page):
    page.goto("/")
    page.get_by_label("Ask by name or in a sentence").fill("why is a white perch not a perch")
    page.get_by_role("button", name="Ask").click()
    page.wait_for_url("**/answer/why**")
    assert "white perch" in page.locator("h1").inner_text()
    proof = page.locator("details.proof").first
    assert not proof.locator(".tree").is_visible()
    proof.locator("summary").click()
    assert proof.locator(".tree").is_visible()
    assert proof.locator(".tree .basis").count() > 1
    proof.locator(".tree a[href^='/statement/']").first.click()
    page.wait_for_url("**/statement/**")
    page.locator("cite a").first.click()
    page.wait_for_url("**/source/**")
    assert page.locator("main li").count() > 0


def test_suggestions_are_walked_with_the_keys_and_lead_to_the_answer(page):
    page.goto("/")
    box = page.get_by_role("combobox")
    box.press_sequentially("rock ba")
    page.get_by_role("option").first.wait_for()
    assert "Ambloplites" in page.get_by_role("listbox").inner_text()
    box.press("ArrowDown")
    assert page.locator("[aria-selected=true]").count() == 1
    box.press("Enter")
    page.wait_for_url("**/answer/name**")
    assert "rock ba" in page.locator("h1").inner_text()


def test_a_fish_is_identified_to_the_end(page):
    page.goto("/identify")
    page.get_by_label("Only within a group").fill("Ambloplites")
    page.get_by_role("button", name="Begin").click()
    for _ in range(12):
        if page.locator("section.next").count() == 0:
            break
        choices = page.locator("section.next input[type=radio]")
        if choices.count():
            choices.first.check()
            page.get_by_role("button", name="Next").click()
        else:
            page.get_by_role("button", name="Not seen, skip").click()
        page.wait_for_load_state()
    assert page.locator("section.next").count() == 0
    assert page.locator(".outcome").first.inner_text() in ("settled", "open", "none")
    assert page.locator("ul.said li").count() > 0


def test_a_count_that_is_none_is_told_and_the_question_is_put_again(browser, base):
    context = browser.new_context(base_url=base)
    page = context.new_page()
    page.goto("/identify?go=1&within=Centrarchidae&no-water=1")
    page.locator("#value").fill("many")
    question = page.locator("section.next h2").inner_text()
    page.get_by_role("button", name="Next").click()
    page.wait_for_load_state()
    assert "not taken" in page.locator(".outcome").first.inner_text()
    assert page.locator("section.next h2").inner_text() == question
    context.close()


def test_an_answer_is_taken_back(page):
    page.goto("/identify?go=1&within=Ambloplites&see=dorsal-spines=11")
    assert page.locator("ul.said li").count() == 2
    page.get_by_role("link", name="Take back dorsal spines: 11").click()
    page.wait_for_load_state()
    assert page.locator("ul.said li").count() == 1


def test_a_query_is_run_and_leads_to_a_fish(page):
    page.goto("/query")
    page.get_by_role("button", name="Run").click()
    page.wait_for_load_state()
    assert page.locator("table.result tbody tr").count() > 3
    page.locator("table.result tbody a").first.click()
    page.wait_for_url("**/taxon/**")


def test_the_keyboard_skips_to_the_content(page):
    page.goto("/words")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"


@pytest.mark.parametrize("width", [1280, 390])
def test_no_page_has_a_serious_fault_for_those_who_see_or_move_otherwise(browser, base, width):
    size = {"width": width, "height": 844}
    context = browser.new_context(base_url=base, viewport=size, bypass_csp=True)
    page = context.new_page()
    found = {}
    for path in PAGES:
        page.goto(path)
        page.add_script_tag(path=AXE)
        told = page.evaluate("axe.run()")
        faults = [v for v in told["violations"] if v["impact"] in ("serious", "critical")]
        if faults:
            found[path] = [(v["id"], v["nodes"][0]["html"][:200]) for v in faults]
        wider = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert wider <= 0, f"{path} is {wider} pixels wider than the window"
        assert told["passes"], path
    context.close()
    assert found == {}


def test_the_pages_work_without_scripts(browser, base):
    context = browser.new_context(base_url=base, java_script_enabled=False)
    page = context.new_page()
    page.goto("/")
    page.get_by_label("Ask by name or in a sentence").fill("redeye bass in the Coosa")
    page.get_by_role("button", name="Ask").click()
    page.wait_for_url("**/answer/name**")
    assert "Micropterus coosae" in page.locator(".verdict").inner_text()
    context.close()
