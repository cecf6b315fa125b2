//! Deceleration: what an idle aircraft loses per nautical mile, by type and configuration.
//!
//! Level stretches at idle with everything out are rare in any fleet, so every idle stretch of
//! constant configuration is measured as a loss of energy height per air NM, and the loss is
//! converted: level at speed V it is a deceleration of loss / (2·0.04427·V) kt/NM; on a path that
//! takes 318 ft/NM from the height, of (loss − 318) / (2·0.04427·V).

use super::{Figure, Shown, middle, quantile};
use crate::fleet::air::kinetic_ft;
use crate::fleet::flown::{Flown, Moment};
use std::collections::BTreeMap;

/// Length of a window, s.
const WINDOW_S: usize = 12;
/// Most that N1 may change within a window, and lie above the type's idle, percent.
const STEADY_PCT: f64 = 1.5;
const NEAR_IDLE_PCT: f64 = 2.0;
/// Banks lose energy of their own, deg.
const LEVEL_WINGS_DEG: f64 = 8.0;
/// Faster than the first flap's limit of every type, kt CAS.
const FAST_KT: f64 = 235.0;
/// The real flight's engines burn 600 to 770 kg/h together at idle.
const REAL_IDLE_KG_H: f64 = 800.0;
/// Height that a 3° path takes per NM: 6,076 ft · tan 3°.
const PATH_FT_PER_NM: f64 = 318.4;
/// Change of V²/2g with V: 2 · 0.04427 ft per kt².
const KINETIC: f64 = 2.0 * 0.044_27;

/// A configuration that figures speak of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Setting {
    Clean,
    ApproachFlap,
    GearLandingFlap,
}

struct Window {
    n1_pct: f64,
    cas_kt: f64,
    tas_kt: f64,
    loss_ft_per_nm: f64,
    sink_fpm: f64,
    decel_kt_per_nm: f64,
}

/// Idle windows by type and configuration.
#[derive(Default)]
pub(crate) struct Windows {
    found: BTreeMap<(String, Setting), Vec<Window>>,
}

impl Windows {
    pub(super) fn add(&mut self, flown: &Flown<'_>) {
        let moments: Vec<&Moment> = flown
            .approach()
            .filter(|moment| moment.height_ft > 300.0)
            .collect();
        for window in moments.chunks_exact(WINDOW_S + 1) {
            let Some(setting) = constant_setting(flown, window) else {
                continue;
            };
            if let Some(window) = measured(window) {
                let key = (flown.aircraft.aircraft_type.clone(), setting);
                self.found.entry(key).or_default().push(window);
            }
        }
    }

    /// The windows of a type and configuration that were flown at idle.
    fn idle(&self, kind: &str, setting: Setting) -> Vec<&Window> {
        let mut n1: Vec<f64> = self
            .found
            .iter()
            .filter(|((other, _), _)| other == kind)
            .flat_map(|(_, windows)| windows.iter().map(|window| window.n1_pct))
            .collect();
        let idle_pct = quantile(&mut n1, 0.02);
        let windows = self.found.get(&(kind.to_owned(), setting));
        windows
            .into_iter()
            .flatten()
            .filter(|window| window.n1_pct < idle_pct + NEAR_IDLE_PCT)
            .collect()
    }

    /// The figures of every type; the real flight was clean, and at idle by its fuel flow, while it
    /// flew faster than any flap allows.
    pub(super) fn figures(&self, real: &Flown<'_>) -> Vec<Figure> {
        let mut kinds: Vec<&String> = self.found.keys().map(|(kind, _)| kind).collect();
        kinds.dedup();
        let moments: Vec<&Moment> = real.approach().collect();
        let idle = |window: &&[&Moment]| {
            let slow = |flow: f64| flow < REAL_IDLE_KG_H;
            window
                .iter()
                .all(|moment| moment.fuel_flow_kg_h.is_some_and(slow))
        };
        let mut real: Vec<f64> = moments
            .chunks_exact(WINDOW_S + 1)
            .filter(idle)
            .filter_map(measured)
            .filter(|window| window.cas_kt >= FAST_KT)
            .map(|window| window.loss_ft_per_nm)
            .collect();
        let real = quantile(&mut real, 0.5);
        kinds
            .iter()
            .flat_map(|kind| self.figures_of(kind, real))
            .collect()
    }

    fn figures_of(&self, kind: &str, real_loss: f64) -> Vec<Figure> {
        const NOTE: &str = "public Airbus briefing note p. 3, quoted";
        let decel = |setting: Setting, path_ft_per_nm: f64| {
            let values: Vec<f64> = self
                .idle(kind, setting)
                .iter()
                .map(|window| (window.loss_ft_per_nm - path_ft_per_nm) / (KINETIC * window.tas_kt))
                .collect();
            middle(&values, "kt/NM")
        };
        let figure = |name: &str, published: &str, source, range, shown| Figure {
            name: format!("{name}, {kind}"),
            published: published.to_owned(),
            source,
            range,
            shown,
        };
        vec![
            figure(
                "level, clean, idle",
                "1 NM per 10 kt",
                "FAA-H-8083-16B p. 3-12, quoted",
                (8.0, 20.0),
                decel(Setting::Clean, 0.0),
            ),
            figure(
                "level, approach flap, idle",
                "10–15 kt/NM",
                NOTE,
                (10.0, 15.0),
                decel(Setting::ApproachFlap, 0.0),
            ),
            figure(
                "level, gear and landing flap, idle",
                "20–30 kt/NM",
                NOTE,
                (20.0, 30.0),
                decel(Setting::GearLandingFlap, 0.0),
            ),
            figure(
                "3° path, gear and landing flap, idle",
                "10–20 kt/NM",
                NOTE,
                (10.0, 20.0),
                decel(Setting::GearLandingFlap, PATH_FT_PER_NM),
            ),
            figure(
                "3° path, clean, idle",
                "about none",
                NOTE,
                (-5.0, 5.0),
                decel(Setting::Clean, PATH_FT_PER_NM),
            ),
            figure(
                "loss clean at idle, 235 kt CAS or more",
                &format!("{real_loss:.0} ft/NM"),
                "the real recorder flight",
                (0.75 * real_loss, 1.25 * real_loss),
                self.fast_loss(kind),
            ),
            figure(
                "sink while slowing clean below 250 kt (5 kt/NM or more)",
                "less than 1,000 ft/min, about 500",
                "common practice",
                (300.0, 1000.0),
                self.slowing_sink(kind),
            ),
        ]
    }

    fn fast_loss(&self, kind: &str) -> Shown {
        let losses: Vec<f64> = self
            .idle(kind, Setting::Clean)
            .iter()
            .filter(|window| window.cas_kt >= FAST_KT)
            .map(|window| window.loss_ft_per_nm)
            .collect();
        middle(&losses, "ft/NM")
    }

    fn slowing_sink(&self, kind: &str) -> Shown {
        let sinks: Vec<f64> = self
            .idle(kind, Setting::Clean)
            .iter()
            .filter(|window| window.cas_kt < 250.0)
            .filter(|window| window.decel_kt_per_nm >= 5.0 && window.sink_fpm > 200.0)
            .map(|window| window.sink_fpm)
            .collect();
        middle(&sinks, "ft/min")
    }
}

/// The configuration of a window, where it is one of those looked for and nothing moves.
fn constant_setting(flown: &Flown<'_>, window: &[&Moment]) -> Option<Setting> {
    let first = window.first()?;
    let (lever, flap_deg) = (first.lever?, first.flap_deg?);
    let (selected, locked) = (first.gear_lever?, first.gear_down?);
    let brake = first.speedbrake?;
    let same = window.iter().all(|moment| {
        moment.lever == Some(lever)
            && moment
                .flap_deg
                .is_some_and(|flap| (flap - flap_deg).abs() < 0.6)
            && moment.gear_lever == Some(selected)
            && moment.gear_down == Some(locked)
            && moment
                .speedbrake
                .is_some_and(|out| (out - brake).abs() < 0.06)
            && moment
                .roll_deg
                .is_some_and(|roll| roll.abs() < LEVEL_WINGS_DEG)
    });
    let position = flown.aircraft.lever.get(lever)?;
    if !same || selected != locked || (flap_deg - position.flap_deg).abs() > 1.0 {
        return None;
    }
    let stowed = brake < 0.06;
    match (lever, position.landing, locked) {
        (0, _, false) if stowed => Some(Setting::Clean),
        (1.., false, false) if stowed => Some(Setting::ApproachFlap),
        (_, true, true) if stowed => Some(Setting::GearLandingFlap),
        _ => None,
    }
}

/// Loss and deceleration between the first and the last three seconds of a window of steady thrust.
fn measured(window: &[&Moment]) -> Option<Window> {
    // Of a recorder without N1 the fuel flow must do: 25 kg/h are about a percent at idle.
    let thrust = |moment: &&Moment| {
        let flow = moment.fuel_flow_kg_h.map(|flow| flow / 25.0);
        moment.n1_pct.or(flow)
    };
    let n1: Option<Vec<f64>> = window.iter().map(thrust).collect();
    let n1 = n1?;
    let span = |pick: fn(f64, f64) -> f64, from: f64| n1.iter().copied().fold(from, pick);
    if span(f64::max, f64::MIN) - span(f64::min, f64::MAX) > STEADY_PCT {
        return None;
    }
    let mean = |part: &[&Moment], value: &dyn Fn(&Moment) -> f64| {
        part.iter().map(|moment| value(moment)).sum::<f64>() / part.len() as f64
    };
    let (start, end) = (window.get(..3)?, window.get(window.len() - 3..)?);
    let change = |value: &dyn Fn(&Moment) -> f64| mean(start, value) - mean(end, value);
    let tas_kt = mean(window, &|moment| moment.tas_kt);
    let seconds = -change(&|moment| moment.time_s);
    let air_nm = tas_kt * seconds / 3600.0;
    let energy = |moment: &Moment| moment.height_ft + kinetic_ft(moment.tas_kt);
    Some(Window {
        n1_pct: n1.iter().sum::<f64>() / n1.len() as f64,
        cas_kt: mean(window, &|moment| moment.cas_kt),
        tas_kt,
        loss_ft_per_nm: change(&energy) / air_nm,
        sink_fpm: change(&|moment| moment.height_ft) / seconds * 60.0,
        decel_kt_per_nm: change(&|moment| moment.cas_kt) / air_nm,
    })
}
