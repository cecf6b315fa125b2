//! What is new since the review before, as a reader gets it.

use crate::invented;
use report::input::*;
use report::render;

/// The section; empty where there is none.
fn section(input: &ReportInput) -> String {
    let page = render(input).unwrap();
    let start = page.find("<h2 id=\"against\">");
    let text = start.and_then(|start| page[start..].split("</section>").next());
    text.unwrap_or_default().to_owned()
}

fn with(change: impl Fn(&mut Against)) -> ReportInput {
    let mut input = invented::fleet();
    change(input.against.as_mut().unwrap());
    input
}

#[test]
fn what_is_new_comes_first_and_what_is_gone_last() {
    let text = section(&invented::fleet());
    assert!(text.contains("Since the review before"));
    assert!(
        text.contains("Held against the review of 2026-01 (run 11). 6 flags are as they were.")
    );
    let marks: Vec<&str> = text
        .split("<strong class=\"flag\">")
        .skip(1)
        .filter_map(|part| part.split('<').next())
        .collect();
    assert_eq!(marks, ["new", "changed", "changed", "gone"]);
}

#[test]
fn both_sides_and_the_causes_are_in_words() {
    let text = section(&invented::fleet());
    for words in [
        "<td>no flag: not significant</td><td>higher (80.5)</td><td>flying</td>",
        "<td>watch (71.2)</td><td>hot spot (87.4)</td><td>rules</td>",
        "<td>rank 1 (66.0)</td><td>rank 2 (61.0)</td><td>not known</td>",
        "<td>rising (4.2 % a month)</td><td>no flag: withheld, too few flights</td><td>data, flying</td>",
        "<th scope=\"row\">Not stabilised at 1,000 ft</th><td>whole fleet</td>",
        "<th scope=\"row\">Not stabilised at 1,000 ft, high</th><td>type tarn-t7</td>",
        "<code>hot_spot_ratio</code> 2.0 → 1.5.",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
}

#[test]
fn without_a_review_before_there_is_no_section() {
    let input = ReportInput {
        against: None,
        ..invented::fleet()
    };
    assert_eq!(section(&input), "");
    let page = render(&input).unwrap();
    assert!(!page.contains("#against") && !page.contains("Since the review before"));
    assert!(
        render(&invented::fleet())
            .unwrap()
            .contains("href=\"#against\"")
    );
}

#[test]
fn where_nothing_differs_the_section_says_so() {
    let input = with(|against| {
        *against = Against {
            run: 3,
            unchanged: 1,
            ..Against::default()
        };
    });
    let text = section(&input);
    assert!(text.contains("Held against the review of run 3. One flag is as it was."));
    assert!(text.contains("No flag is new, gone or another one."));
    assert!(!text.contains("<table") && !text.contains("Thresholds"));
    let none = with(|against| against.unchanged = 0);
    assert!(section(&none).contains("No flag is as it was."));
}

#[test]
fn lines_that_cannot_be_true_are_refused() {
    let input = with(|against| {
        against.month = Some("2026-1".into());
        against.lines[0].before.flag = None;
        against.lines[1].now.flag = Some("watch".into());
        against.lines[1].now.rate_per_1000 = Some(-1.0);
        against.lines[3].before.flag = Some("lower".into());
    });
    let faults = render(&input).unwrap_err().to_string();
    for words in [
        "review before: month `2026-1` is not written YYYY-MM",
        "marked gone, but not flagged before",
        "marked changed, but flagged alike",
        "rate now is below zero",
        "marked new, but flagged before",
    ] {
        assert!(faults.contains(words), "{words}: {faults}");
    }
}
