//! The tables about flights, approaches, damages and the fleet as a whole.

use demo::Score;
use demo::score::{ApproachScore, DamageScore, EffectsScore, Spread, Verdict};

use super::{dash, figure};
use crate::show::{Sections, Sheet};

/// Whether the flights add up.
pub(super) fn flights(score: &Score, sections: &mut Sections) {
    let Some(of) = &score.flights else {
        return;
    };
    let mut sheet = Sheet::new(&["flights", "count"]);
    let rows = [
        ("in the flight list", of.listed),
        ("= loaded", of.loaded),
        ("+ refused", of.refused),
        ("+ not accounted for", of.unaccounted),
        (
            "of the loaded: a further record refused",
            of.loaded_and_refused,
        ),
        ("loaded, but not in the list", of.loaded_unlisted),
        (
            "refused inputs of no flight in the list",
            of.refused_unlisted,
        ),
    ];
    for (what, count) in rows {
        sheet.row([what.to_owned(), count.to_string()]);
    }
    sections.add("Flights", sheet);
}

/// Approaches flown and found.
pub(super) fn approaches(score: &Score, sections: &mut Sections) {
    let sound = &score.approaches;
    let damaged = score.approaches_of_damaged.as_ref();
    let mut sheet = Sheet::new(&["approaches", "undamaged flights", "damaged flights"]);
    let count = |read: fn(&ApproachScore) -> u64| {
        let of_damaged = damaged.map_or_else(dash, |of| read(of).to_string());
        [read(sound).to_string(), of_damaged]
    };
    let end = |read: fn(&Spread) -> f64| {
        [Some(sound), damaged].map(|of| {
            let spread = of.and_then(|of| of.end_error_s.as_ref());
            spread.map_or_else(dash, |spread| figure(read(spread)))
        })
    };
    let rows = [
        ("flown", count(|of| of.flown)),
        ("found", count(|of| of.found)),
        ("missed", count(|of| of.missed)),
        ("of these: record refused", count(|of| of.missed_as_refused)),
        ("found, but not flown", count(|of| of.not_flown)),
        (
            "found under another number",
            count(|of| of.numbered_differently),
        ),
        ("right airport", count(|of| of.same_airport)),
        ("right airport and runway", count(|of| of.same_runway)),
        ("right outcome", count(|of| of.same_outcome)),
        ("error of the end, median, s", end(|of| of.median)),
        ("error of the end, largest, s", end(|of| of.max)),
    ];
    for (what, [of_sound, of_damaged]) in rows {
        sheet.row([what.to_owned(), of_sound, of_damaged]);
    }
    sections.add("Approaches", sheet);
    sections.add(
        "Some approaches that differ, undamaged flights",
        differences(sound),
    );
    if let Some(damaged) = damaged {
        sections.add(
            "Some approaches that differ, damaged flights",
            differences(damaged),
        );
    }
}

fn differences(of: &ApproachScore) -> Sheet {
    let mut sheet = Sheet::new(&["flight", "approach", "what", "flown", "found"]);
    for one in &of.examples {
        sheet.row([
            one.flight_id.clone(),
            one.approach_no.to_string(),
            one.what.to_owned(),
            one.flown.clone().unwrap_or_else(dash),
            one.found.clone().unwrap_or_else(dash),
        ]);
    }
    sheet
}

/// What became of damaged records.
pub(super) fn damages(score: &Score, sections: &mut Sections) {
    let mut sheet = Sheet::new(&[
        "damage",
        "flights",
        "refused",
        "noted",
        "silent",
        "how (flights)",
        "events caused",
        "lost: called clear",
        "lost: not judged",
        "lost: not found",
    ]);
    let mut groups = Sheet::new(&["damage", "what", "of", "count", "such as flight"]);
    for one in score.damages.iter().flatten() {
        sheet.row([
            one.kind.clone(),
            one.flights.to_string(),
            one.refused.to_string(),
            one.noted.to_string(),
            one.silent.to_string(),
            how(one),
            one.events_caused.to_string(),
            one.events_lost_as_clear.to_string(),
            one.events_lost_unjudged.to_string(),
            one.events_lost_not_found.to_string(),
        ]);
        let silent = one.silent_of.iter().map(|of| ("silent", of));
        let caused = one.caused_by_rule.iter().map(|of| ("event caused", of));
        for (what, group) in silent.chain(caused) {
            groups.row([
                one.kind.clone(),
                what.to_owned(),
                group
                    .of
                    .clone()
                    .unwrap_or_else(|| "whole record".to_owned()),
                group.count.to_string(),
                group.flight_ids.first().cloned().unwrap_or_default(),
            ]);
        }
    }
    let heading = "Damaged records, and what they did to events outside the band";
    sections.add(heading, sheet);
    sections.add("Damages in silence, and events they caused", groups);
}

fn how(of: &DamageScore) -> String {
    let ways = of.reasons.iter().chain(&of.notes);
    let ways: Vec<String> = ways
        .map(|(way, flights)| format!("{way} ({flights})"))
        .collect();
    ways.join(", ")
}

/// What the review makes of the fleet as a whole.
pub(super) fn effects(score: &Score, sections: &mut Sections) {
    let Some(EffectsScore {
        effects,
        other_places,
    }) = &score.effects
    else {
        return;
    };
    let mut sheet = Sheet::new(&["effect", "kind", "real", "verdict", "what the review says"]);
    for one in effects {
        sheet.row([
            one.name.clone(),
            one.kind.clone(),
            if one.real { "yes" } else { "no" }.to_owned(),
            words(one.verdict).to_owned(),
            one.why.clone(),
        ]);
    }
    sections.add("Effects on the fleet", sheet);
    let mut sheet = Sheet::new(&["airports × rules without an effect", "count"]);
    for (what, count) in [
        ("judged", other_places.judged),
        ("called hot spot", other_places.hot_spots),
        ("called watch", other_places.watched),
    ] {
        sheet.row([what.to_owned(), count.to_string()]);
    }
    let heading = "Other places called; invented places differ by geography too, so a call is no \
                   fault as such";
    sections.add(heading, sheet);
    let mut sheet = Sheet::new(&["airport", "rule", "called"]);
    for place in &other_places.examples {
        sheet.row([
            place.airport.clone(),
            place.rule.clone(),
            place.class.clone(),
        ]);
    }
    sections.add("Some of these", sheet);
}

fn words(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Found => "found",
        Verdict::NotFound => "not found",
        Verdict::FalseClaim => "false claim",
        Verdict::NotClaimed => "rightly not claimed",
        Verdict::Withheld => "withheld",
        Verdict::NotComputed => "not computed",
    }
}
