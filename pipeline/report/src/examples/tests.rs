//! What stands on the page, and what is refused.

use super::{Example, Examples, Topic, Why, WithoutExamples, render};
use crate::{CAUTIONS, ReportError};

fn example(link: Option<&str>) -> Example {
    Example {
        flight_id: "0a1b".to_owned(),
        approach_no: 1,
        link: link.map(str::to_owned),
        shows: "Drag <late>".to_owned(),
        level: "high".to_owned(),
        airport: Some("ZENA".to_owned()),
        runway: Some("26L".to_owned()),
        outcome: "go around".to_owned(),
        why: Why::Recovered,
        ..Example::default()
    }
}

fn page(examples: Vec<Example>) -> Result<String, ReportError> {
    render(&Examples {
        fleet_title: "Invented".to_owned(),
        months: Some(("2025-03".to_owned(), "2026-02".to_owned())),
        run_number: 7,
        topics: vec![Topic {
            name: "use of drag".to_owned(),
            rank: 1,
            sentence: Some("Use of drag: 3 of 100.".to_owned()),
            examples,
        }],
        without: vec![WithoutExamples {
            name: "terrain".to_owned(),
            why: "withheld: too few flights".to_owned(),
        }],
    })
}

#[test]
fn a_topic_has_its_sentence_and_a_link_for_each_example() {
    let page = page(vec![example(Some("examples/0a1b-1.html"))]).unwrap();
    for text in [
        "<h2 id=\"topic-1\">1. Use of drag</h2>",
        "<p>Use of drag: 3 of 100.</p>",
        "<a href=\"examples&#x2f;0a1b-1.html\">Flight 0a1b, approach 1</a>",
        "Drag &lt;late&gt;",
        "<td class=\"short\">ZENA 26L</td><td class=\"short\">unknown</td><td class=\"short\">unknown</td><td>go around</td><td>came out of it</td>",
        "<li>Terrain: withheld: too few flights.</li>",
        "Months: 2025-03 to 2026-02. Run 7.",
        "default-src 'none'",
    ] {
        assert!(page.contains(text), "{text}\n{page}");
    }
    for caution in CAUTIONS {
        let first = caution.split(['\'', '/']).next().unwrap();
        assert!(page.contains(first), "{caution}");
    }
    for bad in ["http:", "https:", "src=", "<script", "url(", "<link"] {
        assert!(!page.contains(bad), "{bad}");
    }
}

#[test]
fn an_approach_that_cannot_be_read_any_more_is_told_and_has_no_link() {
    let page = page(vec![example(None)]).unwrap();
    assert!(page.contains("Flight 0a1b, approach 1 <span class=\"note\">cannot be shown any more"));
    assert!(page.contains("There is no approach to show."));
    assert_eq!(page.matches("href=\"examples").count(), 0);
}

#[test]
fn a_topic_none_of_whose_events_may_be_shown_says_so() {
    let page = page(Vec::new()).unwrap();
    assert!(page.contains("<p>No example: "));
}

#[test]
fn a_link_leads_into_the_folder_of_the_examples_and_nowhere_else() {
    for link in [
        "../share/report.html",
        "examples/../../share/x.html",
        "examples/",
        "https://example.org/",
    ] {
        let error = page(vec![example(Some(link))]).unwrap_err();
        assert!(error.to_string().contains("does not lead into"), "{error}");
    }
}
