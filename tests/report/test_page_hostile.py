"""Names and words from files that mean harm, in a real browser: they are shown and nothing of them runs."""

import copy

import pytest
from browsing import bar, needs_chromium, opened
from export_flights import saying
from report_flights import LOGS, charted

import analyzer
from analyzer.procedure.schema import Procedure
from analyzer.report.pages.debrief_page import debrief_page
from analyzer.report.pictures.page_pictures import draw_pictures
from analyzer.report.pictures.subject import Subject

pytestmark = needs_chromium

RUN = "window.ran = 1"
HARM = {
    "the end of a script": f"</script><script>{RUN}</script>",
    "a picture": f"</style><img src=x onerror='{RUN}'>",
    "an attribute": f'" onload="{RUN}" \' onload=\'{RUN}',
    "a link": f"javascript:{RUN}",
    "a comment": f"<!--<script>{RUN}",
    "line separators": f"\u2028{RUN}\u2029</script>",
    "writing turned round": f"\u202e<b>{RUN}\u2066",
}


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """One page a kind of harm: as title, fix, runway, the log's name, and every word of a finding."""
    track, folder = analyzer.read_track(LOGS["clean.csv"]), tmp_path_factory.mktemp("harm")
    files = {}
    for number, (kind, harm) in enumerate(HARM.items()):
        tables = copy.deepcopy(charted())
        tables["fix"]["name"] = tables["runway"]["name"] = harm[:40]
        tables["title"] = harm
        try:
            procedure = Procedure.model_validate(tables)
        except (
            ValueError
        ):  # a title of letters that cannot be seen is refused; the words of a finding and the log's name are not
            procedure = Procedure.model_validate(charted())
        debrief = saying(analyzer.debrief(track, procedure), harm)
        files[kind] = folder / f"{number}.html"
        files[kind].write_text(
            debrief_page(debrief, [draw_pictures(Subject(debrief, debrief.approaches[0]), "a1")]), encoding="utf-8"
        )
    return files


@pytest.mark.parametrize("kind", HARM)
def test_nothing_of_it_runs(browser, made, kind):
    with opened(browser, made[kind]) as seen:
        page = seen.page
        page.get_by_role("slider").fill("100")
        page.locator("[id^=finding] a").first.click()
        page.mouse.move(500, 400)
        assert page.evaluate("window.ran") is None
        assert seen.requests == [made[kind].as_uri()]
        assert seen.all_complaints() == []
        assert bar(page).values["altitude"] is not None
        # it is shown as words
        assert HARM[kind].strip() in page.locator("li p", has_text=HARM[kind].strip()[:3]).first.evaluate(
            "one => one.textContent"
        )
        assert page.locator("script").count() == 2
        assert page.locator("main img, main b, main animate, main iframe, main object").count() == 0
