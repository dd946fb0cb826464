"""The pages in Debian's headless Chromium: what a person sees, on a phone, in the dark, on paper.

Needs chromium and chromium-driver (apt) and selenium (the test extra).
"""

import base64
import json
import re
import shutil
import time
from itertools import pairwise

import numpy as np
import pytest

from wingtool.report import write_lessons, write_page
from wingtool.report.checks.trust import write_trust
from wingtool.report.page.content import ruler_ends
from wingtool.report.text import figures, tenths
from wingtool.study import bundled_study, read_study, run_lessons, run_study
from wingtool.study.advice import advise
from wingtool.study.trust.check import Check
from wingtool.study.trust.run import Trust

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(shutil.which("chromium") is None, reason="no chromium here"),
]
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
]
PHONE, DESKTOP = 360, 1280
QUICK = {"wing": {"method": "surrogate"}}

CONTRAST = """
function channel(v) { v /= 255; return v <= 0.03928 ? v / 12.92 : Math.pow((v + 0.055) / 1.055, 2.4); }
function light(c) { return 0.2126 * channel(c[0]) + 0.7152 * channel(c[1]) + 0.0722 * channel(c[2]); }
function parse(text) { var m = text.match(/[\\d.]+/g); return m ? m.map(Number) : [0, 0, 0, 0]; }
function behind(e) {
  for (; e; e = e.parentElement) {
    var c = parse(getComputedStyle(e).backgroundColor);
    if (c.length === 3 || c[3] > 0.99) return c;
  }
  return [255, 255, 255];
}
var found = [], smallest = 99;
var walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
for (var n = walker.nextNode(); n; n = walker.nextNode()) {
  var e = n.parentElement;
  if (!n.textContent.trim() || e.closest("script,style,title,desc") || !e.getClientRects().length) continue;
  var style = getComputedStyle(e), svg = e.closest("svg");
  var colour = parse(svg ? style.fill : style.color), ground = behind(svg ? svg.parentElement : e);
  var a = light(colour), b = light(ground), ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
  var size = parseFloat(style.fontSize);
  if (svg) size *= svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
  smallest = Math.min(smallest, size);
  if (ratio < 4.5) found.push([n.textContent.trim().slice(0, 40), ratio.toFixed(2)]);
}
return [found, smallest];
"""

CROWDED = """
var found = [];
document.querySelectorAll("svg").forEach(function (svg) {
  var frame = svg.getBoundingClientRect(), boxes = [], unit = frame.width / svg.viewBox.baseVal.width;
  function cuts(a, b) {  // a text's box stands some 3 units over and under its letters
    return a.left < b.right - unit && b.left < a.right - unit && a.top < b.bottom - 4 * unit
      && b.top < a.bottom - 4 * unit;
  }
  svg.querySelectorAll("text").forEach(function (text) {
    var box = text.getBoundingClientRect(), name = text.textContent;
    if (!box.width) return;
    if (box.left < frame.left - 1 || box.right > frame.right + 1 || box.top < frame.top - 1
      || box.bottom > frame.bottom + 1) found.push(name + " leaves its picture");
    boxes.forEach(function (other) {
      if (cuts(box, other[0])) found.push(name + " over " + other[1]);
    });
    svg.querySelectorAll("circle").forEach(function (mark) {
      if (cuts(box, mark.getBoundingClientRect())) found.push(name + " over a mark");
    });
    boxes.push([box, name]);
  });
  svg.querySelectorAll("circle, rect").forEach(function (mark) {
    var box = mark.getBoundingClientRect();
    if (mark.closest("clipPath") || !box.width) return;
    if (box.left < frame.left - 1 || box.right > frame.right + 1) found.push(mark.tagName + " is cut off");
  });
});
return found;
"""


@pytest.fixture(scope="module")
def result():
    return run_study(read_study(bundled_study(), QUICK))


@pytest.fixture(scope="module")
def pages(result, tmp_path_factory):
    folder = tmp_path_factory.mktemp("pages")
    check = Check(
        "near stall", "4412", "made", "greatest lift", 1.6, 0.1, "PUBLISHED", "nobody, 1999", 1.8, 1.7
    )
    paths = [write_page(result, folder), write_trust(Trust((check,)), folder)]
    return paths + write_lessons(run_lessons(read_study(bundled_study(), QUICK)), folder)


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    webdriver = pytest.importorskip("selenium.webdriver")
    options = webdriver.ChromeOptions()
    for flag in (*FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    service = webdriver.ChromeService(shutil.which("chromedriver") or "/usr/bin/chromedriver")
    driver = webdriver.Chrome(options=options, service=service)
    yield driver
    driver.quit()


def show(driver, path, width=PHONE, dark=False):
    look = [{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": look})
    size = {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": width < 500}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    driver.get(path.as_uri())


def unfold(driver):
    driver.execute_script("document.querySelectorAll('details').forEach(function (d) { d.open = true; })")


def put(driver, name, value):
    script = "var e = document.getElementById(arguments[0]); e.value = arguments[1];"
    driver.execute_script(script + "e.dispatchEvent(new Event('input'));", name, value)


def text_of(driver, name):
    return driver.execute_script("return document.getElementById(arguments[0]).textContent", name)


def test_sliders_tell_the_tables_own_values(browser, pages, result):
    """TWIN: what the page shows at grid points against the arrays that the study computed."""
    show(browser, pages[0])
    assert browser.execute_script("return !document.getElementById('try').hidden")
    wing = result.wing
    start = [tab for tab, _ in result.tabs].index(result.study.wing.tab_m or 0.0)
    put(browser, "tab", start)
    for k, m in ((0, 2), (3, 8), (len(wing.speed_m_s) - 1, 12)):
        put(browser, "angle", float(wing.wing_angle_deg[m]))
        put(browser, "speed", round(float(wing.speed_m_s[k]) * 3.6, 6))
        shown = text_of(browser, "downforce-out")
        assert shown.startswith(f"{figures(wing.downforce.n[k, m])} N, "), shown
        low, high = figures(wing.downforce.low_n[k, m]), figures(wing.downforce.high_n[k, m])
        assert shown.endswith(f"({low} to {high} N)"), shown
        assert text_of(browser, "drag-out").startswith(f"{figures(wing.drag.n[k, m])} N, ")
        assert text_of(browser, "margin-out") == tenths(wing.stall_margin_deg[k, m]).replace("-", "−") + "°"
        told = wing.status[k, m].replace("converged", "yes")
        if wing.wing_angle_deg[m] > result.advice.high_deg:
            told = "; ".join(["beyond the end: keep off", told]).removesuffix("; yes")
        assert text_of(browser, "status-out") == told


def test_the_drawn_car_follows_the_sliders(browser, pages, result):
    """EXACT: the wing turns by the slider's angle; the front's share and its band are the balance's."""
    show(browser, pages[0])
    wing, car = result.wing, result.car
    k, m = len(wing.speed_m_s) - 1, 10
    put(browser, "angle", float(wing.wing_angle_deg[m]))
    put(browser, "speed", round(float(wing.speed_m_s[k]) * 3.6, 6))
    turned = browser.execute_script("return document.getElementById('car-wing').getAttribute('transform')")
    assert float(re.match(r"rotate\(([-\d.]+)", turned)[1]) == pytest.approx(-wing.wing_angle_deg[m])
    put(browser, "angle", car.set_angle_deg)
    put(browser, "speed", car.reference_speed_m_s * 3.6)
    shown = [float(text) / 100.0 for text in re.findall(r"[\d.]+", text_of(browser, "share-out"))]
    shares = [car.share.value, car.share.low, car.share.high, car.left[-1].front_share]
    assert shown == pytest.approx(shares, abs=1e-3)
    q = 0.5 * car.density_kg_m3 * car.reference_speed_m_s**2
    assert text_of(browser, "say-body") == f"body lift {figures(-q * car.body.cla_m2)} N"
    assert text_of(browser, "say-parts") == f"splitter downforce {figures(q * car.front[0].middle.cla_m2)} N"
    assert text_of(browser, "say-down").startswith("wing downforce ")
    assert browser.execute_script("return document.getElementById('act-rear').getAttribute('d')")


def test_the_pressure_moves_with_the_angle(browser, pages, result):
    """EXACT: potential flow is linear in cosine and sine of its angle; TWIN: the band at the start angle."""
    show(browser, pages[0])
    flow = result.flow
    turn = np.radians(flow.alpha_deg[0])
    gamma = flow.gamma[1] * np.cos(turn) + flow.gamma[2] * np.sin(turn)
    np.testing.assert_allclose(gamma, flow.gamma[0], atol=1e-9)
    drawn = []
    for angle in (result.advice.start_deg, result.advice.high_deg):
        put(browser, "angle", float(angle))
        drawn.append(browser.execute_script("return document.getElementById('suction').getAttribute('d')"))
    x, y = np.array(re.findall(r"[ML]([-\d.]+) ([-\d.]+)", drawn[0]), float).T
    n = len(x) // 2
    width = 20.0 * np.clip(-flow.cp[0, ::2], 0.0, 3.0)
    inner = slice(3, n - 3)
    np.testing.assert_allclose(np.hypot(x[:n] - x[n:], y[:n] - y[n:])[inner], width[:n][inner], atol=1.2)
    assert drawn[0] != drawn[1]


def test_a_tab_has_its_own_end_and_says_what_the_page_leaves_out(browser, pages, result):
    """TWIN: the slider's end with each tab against the advice for a wing that has this tab."""
    show(browser, pages[0])
    ends = [advise(wing, result.advice.roof_band_deg).high_deg for _, wing in result.tabs]
    assert ends[-1] < ends[0] == result.advice.high_deg
    seen = "return document.getElementById('tab-warn').checkVisibility()"
    for number, end in enumerate(ends):
        put(browser, "tab", number)
        for angle, kept in ((end, True), (end + 0.25, False)):
            put(browser, "angle", float(angle))
            assert text_of(browser, "status-out").startswith("yes" if kept else "beyond the end"), number
        assert browser.execute_script(seen) == (number > 0)
    assert "without a tab: run the study" in text_of(browser, "tab-warn")


def test_other_tabs_and_other_air(browser, pages, result):
    """TWIN for the tab; EXACT for the air: the force follows the density."""
    show(browser, pages[0])
    k, m = 3, 8
    put(browser, "angle", float(result.wing.wing_angle_deg[m]))
    put(browser, "speed", round(float(result.wing.speed_m_s[k]) * 3.6, 6))
    for number, (_, wing) in enumerate(result.tabs):
        put(browser, "tab", number)
        assert text_of(browser, "downforce-out").startswith(f"{figures(wing.downforce.n[k, m])} N")
    put(browser, "tab", 0)
    put(browser, "air", 1.0)
    force = result.tabs[0][1].downforce.n[k, m] / result.wing.air.density_kg_m3
    assert text_of(browser, "downforce-out").startswith(f"{figures(force)} N")


def test_between_rows_the_line_is_straight(browser, pages, result):
    """EXACT: the middle of a cell is the mean of the coefficients at its corners times the pressure."""
    show(browser, pages[0])
    wing = result.wing
    area = wing.downforce.n / wing.air.dynamic_pressure_pa(wing.speed_m_s)[:, None]
    angle, speed = wing.wing_angle_deg[8:10].mean(), wing.speed_m_s[3:5].mean()
    put(browser, "angle", float(angle))
    put(browser, "speed", round(float(speed) * 3.6, 6))
    force = area[3:5, 8:10].mean() * wing.air.dynamic_pressure_pa(speed)
    assert text_of(browser, "downforce-out").startswith(f"{figures(force)} N")


def test_sliders_work_by_keyboard_and_tell_a_screen_reader(browser, pages):
    from selenium.webdriver.common.by import By
    from selenium.webdriver.common.keys import Keys

    show(browser, pages[0])
    slider = browser.find_element(By.ID, "angle")
    before = text_of(browser, "downforce-out")
    slider.send_keys(Keys.ARROW_RIGHT * 4)
    assert text_of(browser, "downforce-out") != before
    assert slider.accessible_name.startswith("Wing angle")
    told = browser.find_element(By.ID, "told")
    assert told.get_attribute("aria-live") == "polite"
    unfold(browser)
    for picture in browser.find_elements(By.TAG_NAME, "svg"):
        assert picture.accessible_name


def test_no_request_leaves_the_file_and_nothing_is_logged(browser, pages):
    for path in pages:
        browser.get_log("performance")
        browser.get_log("browser")
        show(browser, path)
        events = [json.loads(entry["message"])["message"] for entry in browser.get_log("performance")]
        urls = [e["params"]["request"]["url"] for e in events if e["method"] == "Network.requestWillBeSent"]
        assert {url.split(":")[0] for url in urls} <= {"file", "data"}, urls
        assert [url for url in urls if url.startswith("file")] == [path.as_uri()]
        assert browser.get_log("browser") == []


def test_the_answer_is_there_within_a_second_and_the_page_is_small(browser, pages):
    show(browser, pages[0])
    paint = (
        "var done = arguments[0]; new PerformanceObserver(function (list) {"
        "done(list.getEntriesByName('first-contentful-paint')[0].startTime); })"
        ".observe({type: 'paint', buffered: true});"
    )
    assert browser.execute_async_script(paint) < 1000.0
    top = "return document.querySelector('.answer').getBoundingClientRect().top"
    assert browser.execute_script(top) < 800
    assert pages[0].stat().st_size < 400_000


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [PHONE, DESKTOP])
def test_nothing_scrolls_sideways_and_all_text_can_be_read(browser, pages, width, dark):
    for path in pages:
        show(browser, path, width, dark)
        unfold(browser)
        assert browser.execute_script("return document.documentElement.scrollWidth") <= width, path.name
        faint, smallest = browser.execute_script(CONTRAST)
        assert faint == [], path.name
        assert smallest >= 11.0, (path.name, smallest)


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_wcag_aa_by_a_checker_that_is_not_ours(browser, pages, dark):
    """TWIN: the rules of WCAG 2 A and AA as the checker has them, on every page."""
    axe = pytest.importorskip("axe_core_python.selenium").Axe()
    for path in pages:
        show(browser, path, PHONE, dark)
        unfold(browser)
        found = axe.run(browser, options={"runOnly": ["wcag2a", "wcag2aa"]})
        assert [(v["id"], v["nodes"][0]["html"][:80]) for v in found["violations"]] == [], path.name
        assert len(found["passes"]) > 5


@pytest.mark.parametrize("width", [PHONE, DESKTOP])
def test_no_text_of_a_picture_lies_over_another_or_over_its_edge(browser, pages, width):
    crowded = {}
    for path in pages:
        show(browser, path, width)
        unfold(browser)
        crowded |= {path.name: found} if (found := browser.execute_script(CROWDED)) else {}
    assert crowded == {}


def test_without_scripts_the_page_still_answers(browser, pages):
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        show(browser, pages[0])
        source = browser.page_source
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
    assert re.search(r'<section id="try"[^>]* hidden', source)
    assert "Start at" in source


def test_paper(browser, pages):
    """Two A4 sheets for the study's page, one for each lesson."""
    for path in (pages[0], *pages[3:]):
        show(browser, path, DESKTOP)
        printed = browser.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})["data"]
        count = len(re.findall(rb"/Type\s*/Page\b", base64.b64decode(printed)))
        assert count == (2 if path.stem in ("page", "quiz") else 1), path.name


def test_the_phones_page_is_folded_and_paper_shows_all_of_it_legibly(browser, pages):
    """EXACT: a column's pictures print their letters at 6 points or more, of 96 / 72 pixels each."""
    show(browser, pages[0], 390)
    assert browser.execute_script("return document.documentElement.scrollHeight") < 9000
    closed = "return document.querySelectorAll('details:not([open])').length"
    assert browser.execute_script(closed) > 8
    show(browser, pages[0], 741)  # an A4 sheet within the page's margins
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    sizes = browser.execute_script(
        "return [...document.querySelectorAll('section:not(.screen) svg')].map(s =>"
        "  s.getBoundingClientRect().width / s.viewBox.baseVal.width * 12.4 * 72 / 96);"
    )
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert len(sizes) == 9
    assert min(sizes) >= 6.0


def test_line_styles_differ_besides_their_colours(browser, pages):
    show(browser, pages[0])
    script = "return ['one','two','three','four'].map(function (k) { var e = document.createElementNS("
    script += "'http://www.w3.org/2000/svg', 'path'); e.setAttribute('class', 'line ' + k);"
    script += "document.querySelector('svg').appendChild(e); return getComputedStyle(e).strokeDasharray; })"
    dashes = browser.execute_script(script)
    assert len(set(dashes)) == 4
    assert all(a != b for a, b in pairwise(dashes))


def test_the_ruler_marker_follows_the_angle(browser, pages, result):
    show(browser, pages[0])
    ends = np.array(ruler_ends(result))
    places, own = [], result.wing.wing_angle_deg
    for angle in (own[0], ends.mean(), own[-1]):
        put(browser, "angle", float(angle))
        path = browser.execute_script("return document.getElementById('ruler-marker').getAttribute('d')")
        places.append(float(re.match(r"M([\d.]+) ", path)[1]))
    first = 14.0 + 312.0 * (own[0] - ends[0]) / np.ptp(ends)
    np.testing.assert_allclose(places, [first, 170.0, 326.0], atol=3.2)  # the slider goes by quarter degrees


def test_an_outline_clicked_in_a_photo_is_traced(browser, tmp_path):
    """EXACT: 4412 of 200 mm drawn with a 200 mm ruler below it; clicked close up, saved, read back."""
    from PIL import Image, ImageDraw

    from wingtool.geometry import find_section, repanel
    from wingtool.report import write_click_page
    from wingtool.study import TraceRequest, trace_wing

    loop = repanel(find_section("4412"), 100).xy  # about every 1 mm round the nose, as the page asks
    outline_px = loop * [800.0, -800.0] + [200.0, 400.0]  # 4 pixels a millimetre
    ruler_px = np.array([[200.0, 600.0], [1000.0, 600.0]])
    picture = Image.new("RGB", (1200, 700), "#dddddd")
    ImageDraw.Draw(picture).polygon([tuple(p) for p in outline_px], fill="#223344")
    ImageDraw.Draw(picture).line([tuple(p) for p in ruler_px], fill="#aa0000", width=3)
    photo = tmp_path / "wing.png"
    picture.save(photo)
    show(browser, write_click_page(photo, tmp_path / "wing.html"), DESKTOP)
    into = {"behavior": "allow", "downloadPath": str(tmp_path)}
    browser.execute_cdp_cmd("Browser.setDownloadBehavior", into)

    # zoom in on the point, as a person must where neighbours lie closer than a click can tell
    closer = """var p = {x: arguments[0], y: arguments[1]}, box = canvas.getBoundingClientRect();
    zoomBy(8 / zoom, p); left = p.x - 300 / zoom; top_ = p.y - 300 / zoom; draw();
    return [box.x + 300, box.y + 300];"""

    def click(points):
        for x, y in points:
            place = browser.execute_script(closer, float(x), float(y))
            for kind in ("mousePressed", "mouseReleased"):
                event = {"type": kind, "x": place[0], "y": place[1], "button": "left", "clickCount": 1}
                browser.execute_cdp_cmd("Input.dispatchMouseEvent", event)

    click(ruler_px)
    browser.execute_script("document.querySelector('input[value=edge]').click()")
    click(outline_px[:-1])
    assert "2 for the scale, " + str(len(outline_px) - 1) in text_of(browser, "count")
    for name, file in (("save-marks", "wing-marks.csv"), ("save-edge", "wing-outline.csv")):
        browser.execute_script("document.getElementById(arguments[0]).click()", name)
        for _ in range(50):
            if (tmp_path / file).exists():
                break
            time.sleep(0.1)
    request = TraceRequest(
        photo=photo, marks=tmp_path / "wing-marks.csv", clicked=tmp_path / "wing-outline.csv",
        chord="200 mm", tail="0.5 mm", suction_side="up", method="surrogate",
    )  # fmt: skip
    traced = trace_wing(request)
    assert not traced.doubts
    x = np.linspace(0.02, 0.98, 30)
    for side in (slice(0, 51), slice(50, None)):
        own, found = loop, repanel(traced.found.section, 100).xy
        y = [np.interp(x, *one[side][np.argsort(one[side][:, 0])].T) for one in (own, found)]
        assert np.abs(y[0] - y[1]).max() < 0.004  # 0.8 mm of 200: clicks to a pixel and the fit's own error
