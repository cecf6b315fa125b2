//! Airspeed between the lowest manoeuvring speed and the limit of the lever position in use.

use crate::fault::Fault;
use crate::fleet::flown::{Flown, Moment};
use crate::panel::{FAR_NM, Panel, across_px};
use crate::picture::series;
use crate::sheet::{ALARM, INK, MID, PALE, Sheet, Side, ZONE};

const LOW_KT: f64 = 100.0;
const HIGH_KT: f64 = 350.0;

/// A stretch of one lever position.
struct Stretch {
    lever: usize,
    from_nm: f64,
    to_nm: f64,
    limit_kt: f64,
    least_kt: Option<f64>,
}

/// Draws the panel.
pub(crate) fn draw(sheet: &Sheet<'_>, place: (f64, f64), flown: &Flown<'_>) -> Result<(), Fault> {
    let panel = Panel::new(sheet, place, (LOW_KT, HIGH_KT));
    let stretches = stretches(flown);
    for stretch in &stretches {
        let (left, right) = (
            across_px(stretch.from_nm.min(FAR_NM)),
            across_px(stretch.to_nm),
        );
        if left >= right {
            continue;
        }
        let limit = panel.up_px(stretch.limit_kt.min(HIGH_KT));
        sheet.block((left, panel.top_px), (right, limit), ZONE)?;
        if let Some(least_kt) = stretch.least_kt {
            sheet.block(
                (left, panel.up_px(least_kt)),
                (right, panel.bottom_px),
                ZONE,
            )?;
        }
    }
    let heading = if stretches.is_empty() {
        "CAS, kt"
    } else {
        "CAS, kt; grey: above the limit of the lever position in use, below its lowest manoeuvring speed"
    };
    panel.frame(heading, &[100.0, 150.0, 200.0, 250.0, 300.0, 350.0])?;
    limits(&panel, flown, &stretches)?;
    references(&panel, flown)?;
    let flying = flown.approach().filter(|moment| moment.to_go_nm > -0.4);
    panel.line(&series(flying.clone(), |moment| moment.cas_kt), INK, 1.75)?;
    exceeded(&panel, flown)?;
    selections(&panel, flown)
}

fn stretches(flown: &Flown<'_>) -> Vec<Stretch> {
    let mut found: Vec<Stretch> = Vec::new();
    for moment in flown.approach() {
        let Some(lever) = moment.lever else { continue };
        let Some(position) = flown.aircraft.lever.get(lever) else {
            continue;
        };
        match found.last_mut() {
            Some(last) if last.lever == lever => last.to_nm = moment.to_go_nm,
            before => {
                if let Some(before) = before {
                    before.to_nm = moment.to_go_nm;
                }
                let mass_kg = flown.mass_kg;
                found.push(Stretch {
                    lever,
                    from_nm: moment.to_go_nm,
                    to_nm: moment.to_go_nm,
                    limit_kt: position.limit_kt,
                    least_kt: mass_kg.and_then(|mass| flown.aircraft.min_manoeuvre_kt(lever, mass)),
                });
            }
        }
    }
    found
}

/// The limit as a stair, each step with its figure where there is room.
fn limits(panel: &Panel<'_, '_>, flown: &Flown<'_>, stretches: &[Stretch]) -> Result<(), Fault> {
    let stair: Vec<(f64, f64)> = stretches
        .iter()
        .flat_map(|stretch| {
            [
                (stretch.from_nm, stretch.limit_kt),
                (stretch.to_nm, stretch.limit_kt),
            ]
        })
        .collect();
    panel.line(&stair, MID, 1.25)?;
    for stretch in stretches {
        let left = across_px(stretch.from_nm.min(FAR_NM));
        let width = across_px(stretch.to_nm) - left;
        let name = &flown.aircraft.lever[stretch.lever].name;
        let text = if width > 130.0 {
            format!("limit at lever {name}: {:.0}", stretch.limit_kt)
        } else {
            format!("{:.0}", stretch.limit_kt)
        };
        // Where the line is above the limit, what it says of it is enough.
        let under = |moment: &Moment| {
            let inside = moment.to_go_nm <= stretch.from_nm && moment.to_go_nm >= stretch.to_nm;
            !inside || moment.cas_kt <= stretch.limit_kt
        };
        if width > 22.0 && flown.approach().all(under) {
            let up = panel.up_px(stretch.limit_kt);
            let below = stretch.limit_kt > HIGH_KT - 20.0;
            let at = (left + width / 2.0, up + if below { 9.0 } else { -8.0 });
            panel.sheet.text(at, Side::Middle, 10.5, MID, &text)?;
        }
    }
    Ok(())
}

/// Planned speed, VREF and VAPP, and the speeds that a gate allows.
fn references(panel: &Panel<'_, '_>, flown: &Flown<'_>) -> Result<(), Fault> {
    let planned: Vec<(f64, f64)> = (0..=160)
        .map(|step| f64::from(step) * 0.25)
        .rev()
        .map(|distance| {
            (
                distance,
                flown.aircraft.target_cas_kt(distance, flown.vapp_kt),
            )
        })
        .collect();
    panel.line(&planned, PALE, 2.5)?;
    let at = panel.at(FAR_NM, flown.aircraft.target_cas_kt(FAR_NM, flown.vapp_kt));
    let name = match flown.truth {
        Some(_) => "planned speed".to_owned(),
        None => format!(
            "planned speed of the invented {}",
            flown.aircraft.aircraft_type
        ),
    };
    panel
        .sheet
        .text((at.0 + 6.0, at.1 + 11.0), Side::Left, 11.0, MID, &name)?;
    let right = across_px(crate::panel::BEYOND_NM) + 6.0;
    let Some(vref_kt) = flown.vref_kt else {
        let up = panel.up_px(flown.vapp_kt);
        let name = format!("held {:.0}", flown.vapp_kt);
        return panel.sheet.text((right, up), Side::Left, 11.0, MID, &name);
    };
    let far_nm = flown
        .at_height(1000.0)
        .map_or(3.0, |moment| moment.to_go_nm);
    for edge in [vref_kt, vref_kt + 20.0] {
        panel.line(&[(far_nm, edge), (0.0, edge)], MID, 1.0)?;
    }
    let labels = [
        (vref_kt + 20.0, format!("VREF + 20: {:.0}", vref_kt + 20.0)),
        (vref_kt + 5.5, format!("VAPP {:.0}", flown.vapp_kt)),
        (vref_kt - 10.0, format!("VREF {vref_kt:.0}")),
    ];
    for (kt, name) in labels {
        panel
            .sheet
            .text((right, panel.up_px(kt)), Side::Left, 11.0, MID, &name)?;
    }
    Ok(())
}

/// What is above the limit of the lever in use, drawn heavy and named.
fn exceeded(panel: &Panel<'_, '_>, flown: &Flown<'_>) -> Result<(), Fault> {
    let over = |moment: &Moment| {
        let lever = moment.lever.filter(|lever| *lever > 0)?;
        Some(moment.cas_kt - flown.aircraft.lever.get(lever)?.limit_kt)
    };
    let mut run: Vec<(f64, f64)> = Vec::new();
    let mut worst: Option<(f64, f64, f64)> = None;
    for moment in flown.approach() {
        match over(moment).filter(|over| *over > 0.0) {
            Some(over) => {
                run.push((moment.to_go_nm, moment.cas_kt));
                if worst.is_none_or(|worst| worst.2 < over) {
                    worst = Some((moment.to_go_nm, moment.cas_kt, over));
                }
            }
            None => {
                panel.line(&run, ALARM, 3.5)?;
                run.clear();
            }
        }
    }
    panel.line(&run, ALARM, 3.5)?;
    let Some((to_go_nm, cas_kt, over)) = worst else {
        return Ok(());
    };
    let at = panel.at(to_go_nm, cas_kt);
    let name = format!("{over:.0} kt over {:.0}", cas_kt - over);
    panel
        .sheet
        .text((at.0 + 8.0, at.1 - 12.0), Side::Left, 12.0, ALARM, &name)
}

/// Where the lever moved, named below the line, and where the gear was selected, named above it.
fn selections(panel: &Panel<'_, '_>, flown: &Flown<'_>) -> Result<(), Fault> {
    let moments: Vec<&Moment> = flown.approach().collect();
    let mut named: Option<(f64, f64)> = None;
    for pair in moments.windows(2) {
        let lever = pair[1].lever.filter(|lever| Some(*lever) > pair[0].lever);
        let gear = pair[1].gear_lever == Some(true) && pair[0].gear_lever == Some(false);
        let at = panel.at(pair[1].to_go_nm, pair[1].cas_kt);
        if let Some(lever) = lever.filter(|_| pair[0].lever.is_some()) {
            panel.sheet.dot(at, INK, 3.0)?;
            let mut place = (at.0 - 5.0, at.1 + 9.0);
            if named.is_some_and(|last| place.0 - last.0 < 9.0 && place.1 - last.1 < 9.0) {
                place.1 += 11.0;
            }
            named = Some(place);
            let name = &flown.aircraft.lever[lever].name;
            panel.sheet.text(place, Side::Right, 11.0, INK, name)?;
        }
        if gear {
            panel.sheet.dot(at, MID, 3.0)?;
            let limit = pair[1]
                .lever
                .and_then(|lever| flown.aircraft.lever.get(lever));
            let room = limit.is_none_or(|limit| panel.up_px(limit.limit_kt) < at.1 - 22.0);
            if !room {
                continue;
            }
            let place = (at.0 + 5.0, at.1 - 8.0);
            panel.sheet.text(place, Side::Left, 11.0, MID, "gear")?;
        }
    }
    Ok(())
}
