//! What holds for any page: it stands alone, it is the same each time, it can be read by machine.

use crate::invented;
use report::input::*;
use report::{ReportError, render};

/// The text between `<` and `>` of every tag that opens.
fn tags(page: &str) -> Vec<&str> {
    page.split('<')
        .skip(1)
        .filter(|part| !part.starts_with(['/', '!']))
        .filter_map(|part| part.split('>').next())
        .collect()
}

/// Values of one attribute over all tags.
fn values<'a>(page: &'a str, attribute: &str) -> Vec<&'a str> {
    let marker = format!(" {attribute}=\"");
    tags(page)
        .into_iter()
        .filter_map(|tag| tag.split(&marker).nth(1)?.split('"').next())
        .collect()
}

#[test]
fn two_renders_give_the_same_bytes() {
    assert_eq!(
        render(&invented::fleet()).unwrap(),
        render(&invented::fleet()).unwrap()
    );
}

#[test]
fn the_order_months_come_in_does_not_matter() {
    let mut turned = invented::fleet();
    for trend in &mut turned.trend {
        trend.points.reverse();
    }
    assert_eq!(
        render(&turned).unwrap(),
        render(&invented::fleet()).unwrap()
    );
}

#[test]
fn the_page_refers_to_nothing_outside_itself() {
    let page = render(&invented::fleet()).unwrap();
    for outside in [
        "http:", "https:", "src=", "url(", "@import", "<script", "<link", "//",
    ] {
        assert!(!page.contains(outside), "{outside}");
    }
    let links = values(&page, "href");
    assert!(links.len() > 10);
    let ids = values(&page, "id");
    for link in links {
        let target = link.strip_prefix('#').unwrap();
        assert!(ids.contains(&target), "{link}");
    }
}

#[test]
fn ids_are_unique_and_labels_find_them() {
    let page = render(&invented::fleet()).unwrap();
    let mut ids = values(&page, "id");
    let all = ids.len();
    for label in values(&page, "aria-labelledby") {
        for id in label.split(' ') {
            assert!(ids.contains(&id), "{id}");
        }
    }
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), all);
}

#[test]
fn headings_go_down_one_step_at_a_time() {
    for input in [invented::fleet(), ReportInput::default()] {
        let page = render(&input).unwrap();
        let levels: Vec<u32> = tags(&page)
            .into_iter()
            .filter_map(|tag| tag.strip_prefix('h')?.chars().next()?.to_digit(10))
            .collect();
        assert_eq!(levels[0], 1);
        assert_eq!(levels.iter().filter(|level| **level == 1).count(), 1);
        for pair in levels.windows(2) {
            assert!(pair[1] <= pair[0] + 1, "{pair:?}");
        }
    }
}

#[test]
fn tables_have_captions_and_scopes_and_pictures_have_words() {
    let page = render(&invented::fleet()).unwrap();
    assert_eq!(
        page.matches("<table").count(),
        page.matches("<caption>").count()
    );
    assert!(
        tags(&page)
            .iter()
            .filter(|tag| tag.starts_with("th ") || **tag == "th")
            .all(|tag| tag.contains("scope=\""))
    );
    let pictures = page.matches("<svg aria-labelledby=").count();
    // Rates, months, airports (the family, and the rules under which one stands out), funnel, spreads; two of
    // energy, and one each of outcomes, checkpoints, margins, gate, two units, decisions, routings, drags.
    assert_eq!(pictures, 1 + 8 + (1 + 5) + 1 + 2 + 2 + 9);
    assert_eq!(page.matches("<title id=").count(), pictures);
    assert_eq!(page.matches("<desc id=").count(), pictures);
    // The small ones in the lines of the table of tests.
    let small = page.matches("<svg aria-label=").count();
    assert_eq!(small, 8);
    assert_eq!(page.matches("<svg ").count(), pictures + small);
}

#[test]
fn every_tag_that_opens_closes() {
    let page = render(&invented::fleet()).unwrap();
    for tag in [
        "section", "article", "table", "dl", "dd", "tr", "td", "th", "figure", "div", "svg",
        "details", "ul", "p",
    ] {
        let opened = tags(&page)
            .iter()
            .filter(|t| t.split([' ', '\n']).next() == Some(tag))
            .count();
        assert_eq!(opened, page.matches(&format!("</{tag}>")).count(), "{tag}");
    }
}

#[test]
fn coordinates_are_finite_even_for_odd_figures() {
    let mut odd = invented::fleet();
    for rule in &mut odd.rules {
        rule.cell = invented::cell(12, 0.0);
        rule.cell.ci_high = Some(0.0);
    }
    odd.trend[0].points.truncate(2);
    odd.hotspots[0].rate_of_all_per_1000 = Some(0.0);
    for line in &mut odd.hotspots[0].airports {
        line.cell = invented::cell(12, 0.0);
        line.cell.ci_high = None;
    }
    let one = &mut odd.distributions[0].periods;
    one.truncate(1);
    (one[0].p5, one[0].p25, one[0].p50, one[0].p75, one[0].p95) = (
        Some(800.0),
        Some(800.0),
        Some(800.0),
        Some(800.0),
        Some(800.0),
    );
    for input in [odd, invented::fleet()] {
        let page = render(&input).unwrap();
        let mut numbers = 0;
        for name in [
            "x", "y", "x1", "x2", "y1", "y2", "cx", "cy", "r", "width", "height", "points",
            "viewBox",
        ] {
            for value in values(&page, name) {
                for number in value.split([' ', ',']) {
                    let number: f64 = number.parse().unwrap();
                    assert!(
                        number.is_finite() && number.abs() < 5000.0,
                        "{name}={value}"
                    );
                    numbers += 1;
                }
            }
        }
        assert!(numbers > 500);
    }
}

#[test]
fn figures_that_cannot_be_true_are_all_named() {
    let mut wrong = invented::fleet();
    wrong.rules[0].cell.rate_per_1000 = Some(f64::NAN);
    wrong.rules[1].cell.ci_low = Some(900.0);
    wrong.rules[2].cell.approaches_with_event = Some(999_999);
    wrong.trend[0].points[0].month = "2026-13".into();
    wrong.hotspots[0].airports[0].prob_above_fleet = Some(1.5);
    wrong.distributions[0].periods[0].p95 = Some(-9000.0);
    let Err(ReportError::Input { faults }) = render(&wrong) else {
        panic!("the page was rendered");
    };
    assert_eq!(
        faults,
        [
            "rule `energy_excess_20nm`: rate is not a finite number",
            "rule `energy_excess_10nm`: the interval is upside down",
            "rule `high_at_15nm`: more approaches with an event than evaluable ones",
            "trend of `energy_excess_20nm`: month `2026-13` is not written YYYY-MM",
            "airports of `unstable-gate`, `QAAR`: probability above fleet is above one",
            "distribution of `energy_excess_10nm`, latest month: the quantiles do not rise",
        ]
    );
}

#[test]
fn brief_and_pictures_come_with_the_report() {
    for input in [invented::fleet(), ReportInput::default()] {
        let rendered = report::render_all(&input).unwrap();
        assert_eq!(rendered.report, render(&input).unwrap());
        assert!(rendered.brief.contains("</html>"));
        let mut names: Vec<&str> = rendered
            .pictures
            .iter()
            .map(|picture| picture.name.as_str())
            .collect();
        let all = names.len();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), all, "a name stands twice");
        for picture in &rendered.pictures {
            assert!(picture.svg.contains("<title id="), "{}", picture.name);
            assert!(!picture.svg.contains("var("), "{}", picture.name);
        }
    }
}

#[test]
fn a_hundred_rules_at_sixty_airports_over_three_years_stay_readable() {
    let page = render(&invented::large(100, 60, 36)).unwrap();
    // A browser takes this in at once; the figures of every rule, airport and month are in it.
    assert!(page.len() < 8_000_000, "{} bytes", page.len());
    assert_eq!(
        page.matches("<summary>Figures by month</summary>").count(),
        100
    );
    // What says nothing stands folded.
    let open = page.matches("<article id=\"places-").count();
    let folded = page.matches("<details class=\"item\" id=\"places-").count();
    assert_eq!(open + folded, 101);
    assert!(folded > 70, "{folded}");
}
