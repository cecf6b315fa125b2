//! One flight from its number to its rows: draw, fly, settle what is planted, judge, record.

use crate::damage::{Damage, Facts, inflict};
use crate::dice::{Dice, opaque};
use crate::flying::fly::fly;
use crate::flying::state::{Ending, History};
use crate::folder::rows::{ApproachRow, CheckpointRow, FlightRow, LossRow, RuleRow};
use crate::plan::draw::draw;
use crate::plan::plant::Plant;
use crate::plan::{Plan, Touch};
use crate::recorder::record;
use crate::truth::checkpoints::checkpoint_rows;
use crate::truth::facts::approach_row;
use crate::truth::losses::loss_rows;
use crate::truth::{Verdict, judge};
use crate::{Options, Profile};
use arrow::error::ArrowError;
use arrow::record_batch::RecordBatch;

/// Rounds of adjusting a planted size; the quantities are nearly linear in it.
const ROUNDS: usize = 8;

/// Everything one flight leaves behind.
pub(crate) struct Flight {
    pub(crate) type_index: usize,
    pub(crate) header: FlightRow,
    pub(crate) samples: RecordBatch,
    pub(crate) approaches: Vec<ApproachRow>,
    pub(crate) checkpoints: Vec<CheckpointRow>,
    pub(crate) losses: Vec<LossRow>,
    pub(crate) rules: Vec<RuleRow>,
    pub(crate) damage: Option<Damage>,
}

impl Flight {
    /// Makes flight `number`.
    ///
    /// # Errors
    /// When its samples do not fit the recorder's schema.
    pub(crate) fn make(
        options: &Options,
        number: u64,
        with_id: impl Fn(usize) -> bool,
    ) -> Result<Self, ArrowError> {
        let (plan, history) = settle(options, number);
        let flight_id = opaque(options.seed, number, "flight", 16);
        let month = options.month(plan.month_index);
        let exact = options.profile == Profile::Exact;
        let with_id = with_id(plan.type_index);
        let samples = record(&plan, &history, &flight_id, with_id, exact)?;
        let (mut approaches, mut checkpoints) = (Vec::new(), Vec::new());
        let (mut losses, mut rules) = (Vec::new(), Vec::new());
        for (index, span) in history.spans.iter().enumerate() {
            let approach_no = index as i32 + 1;
            let verdicts = judge(&plan, &history, span);
            approaches.push(approach_row(
                &plan,
                &history,
                span,
                (&flight_id, approach_no, &month),
            ));
            checkpoints.extend(checkpoint_rows(
                &plan,
                &history,
                span,
                (&flight_id, approach_no),
            ));
            let key = (flight_id.as_str(), approach_no);
            losses.extend(loss_rows(&plan, &history, span, key));
            rules.extend(
                verdicts
                    .into_iter()
                    .map(|verdict| rule_row(verdict, &flight_id, approach_no)),
            );
        }
        let mut header = header(options, &plan, &history, flight_id, month);
        let facts = Facts {
            type_index: plan.type_index,
            approaches_s: approaches
                .iter()
                .map(|row| (row.start_s, row.end_s))
                .collect(),
            landed: has_landed(&history),
            qnh_known: header.qnh_hpa.is_some(),
        };
        let share = options.damaged.unwrap_or(options.profile.damaged());
        let dice = &mut Dice::new(options.seed, number, "damage");
        let (samples, damage) = inflict(share, &facts, samples, &mut header.qnh_hpa, dice)?;
        Ok(Self {
            type_index: plan.type_index,
            header,
            samples,
            approaches,
            checkpoints,
            losses,
            rules,
            damage,
        })
    }
}

fn has_landed(history: &History) -> bool {
    let mut spans = history.spans.iter();
    spans.any(|span| span.ending == Ending::Landing)
}

/// What the flight list says of a flight.
fn header(
    options: &Options,
    plan: &Plan,
    history: &History,
    flight_id: String,
    month: String,
) -> FlightRow {
    FlightRow {
        flight_id,
        tail_id: format!(
            "t{}",
            opaque(
                options.seed,
                plan.tail + 1000 * plan.type_index as u64,
                "tail",
                8
            )
        ),
        aircraft_type: plan.aircraft().aircraft_type.clone(),
        departure: plan.departure.to_owned(),
        destination: plan.airport.to_owned(),
        day_key: opaque(
            options.seed,
            plan.month_index as u64 * 100 + plan.day,
            "day",
            12,
        ),
        flight_purpose: if plan.touch == Some(Touch::Training) {
            "training".to_owned()
        } else {
            "line".to_owned()
        },
        // Without a landing the setting is all that tells the height, so it is always given.
        qnh_hpa: (plan.qnh_known || !has_landed(history)).then_some(plan.qnh_hpa as f32),
        landing_mass_kg: ((plan.mass_kg / 100.0).round() * 100.0) as f32,
        month,
    }
}

/// Flies a plan with its planted sizes adjusted until each quantity is where it is wanted, and then
/// lets some unstable approaches go around.
fn settle(options: &Options, number: u64) -> (Plan, History) {
    let mut plan = draw(options, number);
    let mut history = fly(&plan);
    for _ in 0..ROUNDS {
        let verdicts = judge(&plan, &history, &history.spans[0]);
        let sizes: Vec<f64> = plan
            .plants
            .iter()
            .map(|plant| better_size(plant, &plan, &verdicts))
            .collect();
        let moved = plan
            .plants
            .iter_mut()
            .zip(sizes)
            .fold(false, |moved, (plant, size)| {
                let changed = (plant.size - size).abs() > 1e-9;
                plant.size = size;
                moved || changed
            });
        if !moved {
            break;
        }
        history = fly(&plan);
    }
    // A lever planted for a speed that never came is no way to fly: such a flight goes as planned.
    let selected = |history: &History| history.states.iter().any(|state| state.lever > 0);
    if !selected(&history) {
        plan.plants.clear();
        history = fly(&plan);
    }
    let dice = &mut Dice::new(options.seed, number, "decision");
    let unstable = judge(&plan, &history, &history.spans[0])
        .iter()
        .any(|verdict| verdict.rule == "unstable_500" && verdict.event);
    let decided = plan.go_around_ft.is_some() || plan.touch.is_some();
    if unstable && !decided && dice.chance(plan.shares.unstable_go_around) {
        plan.go_around_ft = Some(dice.uniform(180.0, 410.0));
        history = fly(&plan);
    }
    (plan, history)
}

fn better_size(plant: &Plant, plan: &Plan, verdicts: &[Verdict]) -> f64 {
    let rule = plant.kind.rule();
    let margin = verdicts
        .iter()
        .find(|verdict| verdict.rule == rule)
        .and_then(|verdict| verdict.margin);
    let (first, slope, half) = plant.kind.shape(plant.wanted, plan);
    match margin {
        Some(margin) if (margin - plant.wanted).abs() > 0.05 * half => {
            let step = ((plant.wanted - margin) / slope * 0.8).clamp(-2.0 * half, 2.0 * half);
            (plant.size + step).clamp(first - 8.0 * half, first + 8.0 * half)
        }
        _ => plant.size,
    }
}

fn rule_row(verdict: Verdict, flight_id: &str, approach_no: i32) -> RuleRow {
    let narrow = |value: Option<f64>| value.map(|value| value as f32);
    RuleRow {
        flight_id: flight_id.to_owned(),
        approach_no,
        rule: verdict.rule,
        evaluable: verdict.evaluable,
        event: verdict.event,
        worst: narrow(verdict.worst),
        limit: narrow(verdict.limit),
        margin: narrow(verdict.margin),
        band: narrow(verdict.band),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Profile;
    use crate::world::atmosphere::FT_PER_NM;

    #[test]
    fn planted_quantities_land_where_they_are_wanted() {
        let options = Options {
            profile: Profile::Proving,
            ..Options::default()
        };
        let (mut planted, mut there) = (0, 0);
        for number in (0..240).filter(|number| number % 5 == 0) {
            let (plan, history) = settle(&options, number);
            let verdicts = judge(&plan, &history, &history.spans[0]);
            for plant in &plan.plants {
                let rule = plant.kind.rule();
                let margin = verdicts
                    .iter()
                    .find(|verdict| verdict.rule == rule)
                    .and_then(|verdict| verdict.margin);
                let Some(margin) = margin else { continue };
                planted += 1;
                let half = plant.kind.shape(0.0, &plan).2;
                there += usize::from((margin - plant.wanted).abs() < half);
            }
        }
        assert!(planted > 30, "{planted} planted");
        // A few cannot be flown as wanted (a flap that the speed does not allow, say).
        assert!(
            there * 5 > planted * 4,
            "{there} of {planted} are where they were wanted"
        );
    }

    #[test]
    fn landings_touch_down_in_the_first_part_of_the_runway_and_gently() {
        let options = Options {
            planted: 0.0,
            ..Options::default()
        };
        let mut landings = 0;
        for number in 0..60 {
            let (plan, history) = settle(&options, number);
            for span in history.spans.iter().filter(|span| span.ending.touched()) {
                let contact = &history.states[span.end - 1];
                let beyond_ft = -contact.to_go_nm * FT_PER_NM;
                assert!(
                    (500.0..3200.0).contains(&beyond_ft),
                    "flight {number} at {}: {beyond_ft} ft",
                    plan.airport
                );
                assert!(
                    (-420.0..-40.0).contains(&contact.vertical_speed_fpm),
                    "flight {number}: {} ft/min",
                    contact.vertical_speed_fpm
                );
                landings += 1;
            }
        }
        assert!(landings > 50);
    }
}
