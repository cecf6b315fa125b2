//! How approaches are flown: what is shown, what is hidden, and the month in short.

use crate::invented;
use report::input::*;
use report::{ReportError, render};

fn section<'a>(page: &'a str, id: &str) -> &'a str {
    let start = page.find(&format!("aria-labelledby=\"{id}\"")).unwrap();
    &page[start..start + page[start..].find("</section>").unwrap()]
}

#[test]
fn what_decides_is_told_with_numbers_and_intervals() {
    let page = render(&invented::fleet()).unwrap();
    let decides = section(&page, "decides");
    for words in [
        "The energy at 10 NM tells the end: ",
        "0.74 (95 % interval 0.69 to 0.79; 0.50 would be chance)",
        "Tarn T7, flap 1",
        "Not stabilised at 500 ft (governing gate)",
        "glide path",
        "Suppressed, as they rest on few flights or would give such a figure away: QBEL (unstable).",
        "8.5 NM",
        "worked throughout",
        "Of the unstable ones 40.0 % had no excess at 5 NM.",
        "Suppressed lines of this table: 1.",
    ] {
        assert!(decides.contains(words), "{words}");
    }
    // Of a quantile with too few approaches beyond it a dash stands in the table.
    assert!(decides.contains("<td class=\"n\">–</td>"));
}

#[test]
fn the_month_in_short_answers_each_question_and_leads_to_its_rows() {
    let page = render(&invented::fleet()).unwrap();
    let short = section(&page, "summary");
    for words in [
        "Did anything get worse?",
        "Higher in 2026-02 than in the months before",
        "q 0.004",
        "rising 2.4 % a month, 0.9 to 3.9",
        "yet to keep an eye on",
        "3.1 % a month, 0.2 to 6.0",
        "Months outside their chart",
        "Too few approaches to be classed, and far above what chance gives",
        "1 of 6 airports are withheld</a> under every rule.",
        "Looked at by a person",
        "27 of 41 events that should be",
        "Hot spots: ",
        "77 approaches were unstable",
        "14.3 %",
        "What to train?",
        "Small cells are withheld",
    ] {
        assert!(short.contains(words), "{words}");
    }
    for place in ["#test-", "#flag-", "#gates", "#topic-1", "#withheld"] {
        assert!(short.contains(&format!("href=\"{place}")), "{place}");
    }
}

#[test]
fn without_a_signal_the_summary_says_what_could_have_been_seen() {
    let mut input = invented::fleet();
    for trend in &mut input.trend {
        trend.slope = None;
        let test = trend.latest.as_mut().unwrap();
        test.signal = Signal::NoSignal;
    }
    input.trend[2].latest.as_mut().unwrap().detectable_rise_pct = Some(31.0);
    let page = render(&input).unwrap();
    let short = section(&page, "summary");
    assert!(short.contains("Nothing shown: no signal in 2026-02 on 8 rules tested."));
    assert!(short.contains("31 % (Height above the rule of three at 15 NM)"));
    assert!(short.contains("on half of them only one of 55 % or more would."));
    assert!(short.contains("no trend is called"));
    // What could not be tested is not counted as without a signal.
    for trend in &mut input.trend[..3] {
        trend.latest.as_mut().unwrap().signal = Signal::NotTested;
    }
    let page = render(&input).unwrap();
    assert!(section(&page, "summary").contains("no signal in 2026-02 on 5 rules tested."));
}

#[test]
fn nothing_of_a_withheld_share_or_quantile_is_left() {
    let mut input = invented::fleet();
    let marked = ShareCell {
        approaches: Some(98_765),
        part: Some(98_764),
        share: Some(0.98764),
        low: Some(0.98763),
        high: Some(0.98766),
        suppressed: Some(Suppression::Secondary),
    };
    let quantiles = PeriodQuantiles {
        approaches: Some(98_761),
        p5: Some(98_700.0),
        p25: Some(98_710.0),
        p50: Some(98_720.0),
        p75: Some(98_730.0),
        p95: Some(98_740.0),
        suppressed: Some(Suppression::Secondary),
        ..PeriodQuantiles::default()
    };
    let flown = &mut input.flown;
    flown.outcomes[0].unstable = marked.clone();
    flown.gates[0].criteria[0].all = marked.clone();
    flown.gates[0].criteria[0].alone = Some(98_762);
    flown.gates[0].criteria[0].left_later = Some(98_763);
    flown.gates[0].criteria[1].latest = marked.clone();
    flown.decisions[2] = DecisionLine {
        group: "QAAR".into(),
        is_fleet: false,
        at_gate: "unstable".into(),
        approaches: Some(98_766),
        landed: Some(98_767),
        neither: Some(98_768),
        went_around: marked.clone(),
    };
    flown.shortcuts[0].unstable = marked.clone();
    flown.recoverability[0].stable = marked;
    flown.margins[0].margin = quantiles.clone();
    flown.moments[0].periods[0] = quantiles.clone();
    flown.energy[0].checkpoints[0].all = quantiles.clone();
    flown.energy[1].checkpoints[0].latest = Some(quantiles);
    for text in [
        render(&input).unwrap(),
        report::render_all(&input).unwrap().brief,
    ] {
        assert!(!text.contains("98,7") && !text.contains("98.8 %"));
    }
}

#[test]
fn shares_and_quantiles_that_cannot_be_true_are_refused() {
    let mut wrong = invented::fleet();
    wrong.flown.outcomes[0].unstable.share = Some(1.2);
    wrong.flown.gates[0].criteria[0].all.part = Some(999_999);
    wrong.flown.margins[0].margin.p75 = Some(-99.0);
    wrong.flown.decisive[0].low = Some(f64::NAN);
    let Err(ReportError::Input { faults }) = render(&wrong) else {
        panic!("the page was rendered");
    };
    assert_eq!(
        faults,
        [
            "outcome of on_profile at 20nm: share is above one",
            "checkpoint 20nm: probability is not a finite number",
            "margin of Corvan C20, flap 1: the quantiles do not rise",
            "criterion speed of `unstable_500`: a part larger than the whole",
        ]
    );
}
