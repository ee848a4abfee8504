"""A visitor's walk through the pages in a real browser, with axe-core looking on.

axe-core lies beside in axe/ with its licence (MPL-2.0). Widths: 1280 for a desk, 390 for a phone.
"""

import os
import shutil

import pytest

CHROMIUM = shutil.which("chromium") or "/usr/bin/chromium"
ARGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"]
ARGS += ["--disable-background-networking", "--disable-component-update", "--disable-sync"]
AXE = os.path.join(os.path.dirname(__file__), "axe", "axe.min.js")
PAGES = [
    "/",
    "/answer/why?taxon=white perch&not=Percidae",
    "/answer/name?name=redeye",
    "/taxon/Ambloplites-cavifrons",
    "/compare?taxon=black crappie&taxon=white crappie",
    "/key?taxon=Ambloplites",
    "/identify?go=1&within=Ambloplites",
    "/waters",
    "/water/Coosa-River",
    "/word/shad",
    "/sources",
    "/source/becker-1983",
    "/statement/Ambloplites-rupestris_placement",
    "/characters",
    "/character/anal-spines",
    "/words",
    "/records",
    "/account",
    "/place/US-AL",
    "/answer/really?name=rock bass",
    "/identify?go=1&within=Ambloplites&no-water=1&see=cheek-scales=full",
    "/prove?subject=t:Lepomis&predicate=op:inFamily&object=t:Centrarchidae",
    "/ask?q=why do fish swim",
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
def base(site):
    return site


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


def test_a_fish_is_identified_from_its_water_and_counts(page):
    page.goto("/identify")
    page.get_by_label("Water", exact=False).first.fill("Lake Erie")
    page.get_by_label("Only within a group").fill("Ambloplites")
    page.get_by_role("button", name="Begin").click()
    page.wait_for_load_state()
    told = {"anal-spines": "6", "dorsal-spines": "11", "dorsal-soft-rays": "11"}
    for _ in range(20):
        asked = page.locator("section.next input[name=ask]")
        if asked.count() == 0:
            break
        answer = told.get(asked.get_attribute("value"))
        if answer and page.locator("#value").count():
            page.locator("#value").fill(answer)
            page.get_by_role("button", name="Next").click()
        else:
            page.get_by_role("button", name="Not seen, skip").click()
        page.wait_for_load_state()
    assert page.locator("section.next").count() == 0
    assert "Ambloplites rupestris" in page.locator("main").inner_text()
    assert "water: Lake Erie" in page.locator("ul.said").inner_text()


@pytest.mark.parametrize("scripts", [True, False])
def test_a_file_of_records_is_dropped_and_its_result_taken_away(browser, base, scripts, tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("fish,water\nbluegill,Coosa River\nredeye,Lake Erie\n")
    context = browser.new_context(base_url=base, java_script_enabled=scripts)
    page = context.new_page()
    faults = []
    page.on("console", lambda m: faults.append(m.text) if m.type == "error" else None)
    page.goto("/records")
    page.get_by_label("File of records").set_input_files(str(path))
    page.get_by_role("button", name="Settle").click()
    page.wait_for_url("**/records/*")
    page.get_by_text("2 rows").wait_for(timeout=40_000)
    with page.expect_download() as taken:
        page.get_by_role("link", name="records-settled.csv").click()
    text = taken.value.path().read_text("utf-8")
    assert "Lepomis macrochirus" in text
    with context.expect_page() as opened:
        page.get_by_role("link", name="summary.html").click()
    assert "2" in opened.value.locator("main").inner_text()
    page.get_by_role("button", name="Delete now").click()
    page.get_by_role("heading", name="Deleted").wait_for()
    context.close()
    assert faults == []


def test_a_line_of_the_map_leads_to_its_water_with_its_fishes(page):
    page.goto("/waters")
    page.locator("svg a[href='/water/Coosa-River'] path").last.dispatch_event("click")
    page.wait_for_url("**/water/Coosa-River")
    assert page.locator("svg title").first.text_content() == "Map of Coosa River"
    page.locator("section.family a").first.click()
    page.wait_for_url("**/taxon/**")


def test_drawings_are_shown_whole_and_a_proof_is_drawn(page):
    for path in (
        "/answer/really?name=rock bass",
        "/taxon/Ambloplites-rupestris",
        "/prove?subject=t:Lepomis&predicate=op:inFamily&object=t:Centrarchidae",
    ):
        page.goto(path)
        for one in page.locator("figure img, img.bare").all():
            one.scroll_into_view_if_needed()
            one.evaluate("i => i.decode()")
            assert one.evaluate("i => i.naturalWidth") > 0


def test_the_editor_lifts_the_text_area_and_runs_what_is_typed(page):
    page.goto("/query")
    editor = page.get_by_role("textbox", name="Query")
    assert page.locator("textarea").is_hidden()
    editor.click()
    page.keyboard.press("Control+a")
    page.keyboard.insert_text('SELECT ?w { ?w a op:GroupWord ; skos:prefLabel "perch"@en }')
    page.keyboard.press("Control+Enter")
    page.wait_for_url("**/query?query=**")
    page.locator("table.result a", has_text="word:perch").wait_for()


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


def test_no_page_has_a_serious_fault_for_those_who_see_or_move_otherwise(browser, base):
    context = browser.new_context(base_url=base, bypass_csp=True)
    page = context.new_page()
    found = {}
    for number, path in enumerate(PAGES):
        page.set_viewport_size({"width": 1280, "height": 844})
        page.goto(path)
        _fits(page, path)
        page.set_viewport_size({"width": 390, "height": 844})
        _fits(page, path)
        if number % 2:  # half of the pages are judged at phone size, half at desk size
            page.set_viewport_size({"width": 1280, "height": 844})
        page.add_script_tag(path=AXE)
        told = page.evaluate("axe.run({ resultTypes: ['violations'] })")
        faults = [v for v in told["violations"] if v["impact"] in ("serious", "critical")]
        if faults:
            found[path] = [(v["id"], v["nodes"][0]["html"][:200]) for v in faults]
        assert told["passes"], path
    context.close()
    assert found == {}


def _fits(page, path):
    wider = page.evaluate("document.documentElement.scrollWidth - innerWidth")
    assert wider <= 0, f"{path} is {wider} pixels wider than the window"


def test_the_pages_work_without_scripts(browser, base):
    context = browser.new_context(base_url=base, java_script_enabled=False)
    page = context.new_page()
    page.goto("/")
    page.get_by_label("Ask by name or in a sentence").fill("redeye bass in the Coosa")
    page.get_by_role("button", name="Ask").click()
    page.wait_for_url("**/answer/name**")
    assert "Micropterus coosae" in page.locator(".verdict").inner_text()
    context.close()
