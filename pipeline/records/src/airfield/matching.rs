//! Which runway an approach was flown to.
//!
//! The landing roll decides where its positions are known; else the last segment that was aligned
//! with a centreline. Of parallel runways the one flown along more closely wins.

use crate::atmosphere::FT_PER_NM;
use crate::fleet::{RunwayEnd, Runways};
use crate::series::median;

use super::frame::RunwayFrame;
use super::rough_distance_nm;
use super::track::{Fix, Track};

/// Runways further than this from the low point are not looked at.
const NEAR_NM: f64 = 15.0;
/// Alignment is judged over the last miles: some approaches are broken off far out.
const FINAL_NM: f64 = 8.0;
/// Seconds before the low point that hold those miles, at 60 kt over ground.
const FINAL_S: f64 = 480.0;
/// Closeness to the centreline is judged over the last of them: beams are narrow there.
const LATE_NM: f64 = 2.0;
/// With no position for longer before the low point, nothing is known about it.
const SILENT_S: f64 = 240.0;
/// Half width of the aligned corridor at the threshold: half a wide runway and position errors.
const CORRIDOR_NM: f64 = 0.08;
/// The corridor widens with distance: 1.7°, about full localizer deflection.
const CORRIDOR_SLOPE: f64 = 0.03;
/// Course against the runway, drift of the positions included.
const COURSE_DEG: f64 = 15.0;
/// A course is taken over this distance at least: positions jitter.
const COURSE_NM: f64 = 0.1;
/// Shorter stretches cross a centreline, they do not follow it.
const ALIGNED_NM: f64 = 0.3;
/// Aligned again after a longer pause is another segment.
const PAUSE_S: f64 = 30.0;
/// Segments that end this close together compete by closeness to the centreline.
const SAME_TIME_S: f64 = 20.0;
/// Positions on the roll lie on the pavement: half of 60 m and the position error.
const ROLL_OFFSET_NM: f64 = 0.04;
/// Seconds of roll looked at.
const ROLL_S: f64 = 30.0;
/// Slower than this the aircraft may have turned off.
const ROLL_NM_S: f64 = 40.0 / 3600.0;

/// The runway of one approach.
#[derive(Debug, Clone)]
pub(crate) struct Landed<'a> {
    pub(crate) end: &'a RunwayEnd,
    pub(crate) frame: RunwayFrame,
    /// Time and distance before the threshold of the last aligned fix in the air.
    pub(crate) last_aligned: Option<(f64, f64)>,
    /// Where the last aligned segment began.
    pub(crate) aligned_from_s: Option<f64>,
    /// Moment at which the threshold was crossed.
    pub(crate) crossing_s: Option<f64>,
}

/// One runway end that was flown along.
struct Candidate<'a> {
    end: &'a RunwayEnd,
    frame: RunwayFrame,
    aligned: Vec<(f64, f64, f64)>,
    rolled: bool,
    closeness_nm: f64,
}

/// The runway flown to at a low point; `contact_s` where the ground was touched.
pub(crate) fn match_runway<'a>(
    runways: &'a Runways,
    track: &Track,
    low_s: f64,
    contact_s: Option<f64>,
) -> Option<Landed<'a>> {
    let reference_s = contact_s.unwrap_or(low_s);
    let place = track.last_before(reference_s)?;
    if reference_s - place.time_s > SILENT_S {
        return None;
    }
    let final_fixes = track.between(place.time_s - FINAL_S, reference_s);
    let roll_fixes: &[Fix] = match contact_s {
        Some(t) => rolling(track.between(t, t + ROLL_S)),
        None => &[],
    };
    let candidates: Vec<Candidate<'_>> = runways
        .ends
        .iter()
        .filter(|end| near(end, place))
        .filter_map(|end| candidate(end, final_fixes, roll_fixes))
        .collect();
    let best = choose(candidates)?;
    let last_aligned = best.aligned.last().map(|&(t, along, _)| (t, along));
    let aligned_from_s = best.aligned.first().map(|s| s.0);
    let crossing_s = crossing(
        &best.frame,
        track.between(place.time_s - FINAL_S, reference_s + ROLL_S),
    );
    Some(Landed {
        end: best.end,
        frame: best.frame,
        last_aligned,
        aligned_from_s,
        crossing_s,
    })
}

fn near(end: &RunwayEnd, place: Fix) -> bool {
    rough_distance_nm(
        (place.latitude_deg, place.longitude_deg),
        (end.latitude_deg, end.longitude_deg),
    ) <= NEAR_NM
}

fn candidate<'a>(
    end: &'a RunwayEnd,
    final_fixes: &[Fix],
    roll_fixes: &[Fix],
) -> Option<Candidate<'a>> {
    let frame = RunwayFrame::new(end);
    let length_nm = end.length_ft / FT_PER_NM;
    let aligned = last_segment(&aligned(&frame, length_nm, final_fixes));
    let rolled = on_runway(&frame, length_nm, roll_fixes);
    if aligned.is_none() && rolled.is_none() {
        return None;
    }
    let aligned = aligned.unwrap_or_default();
    let closest = aligned.last().map_or(0.0, |s| s.1);
    let late: Vec<f64> = aligned
        .iter()
        .filter(|s| s.1 <= closest + LATE_NM)
        .map(|s| s.2.abs())
        .collect();
    Some(Candidate {
        end,
        frame,
        rolled: rolled.is_some(),
        closeness_nm: rolled.unwrap_or_else(|| median(late)),
        aligned,
    })
}

/// Roll beats alignment; then the segment that ended last, then the closer centreline.
fn choose(mut candidates: Vec<Candidate<'_>>) -> Option<Candidate<'_>> {
    if candidates.iter().any(|c| c.rolled) {
        candidates.retain(|c| c.rolled);
    } else {
        let ended = |c: &Candidate<'_>| c.aligned.last().map_or(f64::NEG_INFINITY, |s| s.0);
        let last_s = candidates
            .iter()
            .map(ended)
            .fold(f64::NEG_INFINITY, f64::max);
        candidates.retain(|c| last_s - ended(c) <= SAME_TIME_S);
    }
    candidates.into_iter().min_by(|a, b| {
        a.closeness_nm
            .total_cmp(&b.closeness_nm)
            .then_with(|| a.end.ident.cmp(&b.end.ident))
    })
}

/// `(time, along, offset)` of the fixes that fly along the centreline towards the far end.
fn aligned(frame: &RunwayFrame, length_nm: f64, fixes: &[Fix]) -> Vec<(f64, f64, f64)> {
    let placed: Vec<(f64, f64, f64)> = fixes
        .iter()
        .map(|f| {
            let (along, offset) = frame.place(f.latitude_deg, f.longitude_deg);
            (f.time_s, along, offset)
        })
        .collect();
    let mut found = Vec::new();
    let mut from = 0;
    for (i, &(t, along, offset)) in placed.iter().enumerate() {
        // The nearest earlier fix that is a course's length away.
        while from + 1 < i && travelled(placed[from + 1], placed[i]) >= COURSE_NM {
            from += 1;
        }
        let start = placed[from];
        let corridor = CORRIDOR_NM + CORRIDOR_SLOPE * along.max(0.0);
        let inside = along <= FINAL_NM && along >= -length_nm && offset.abs() <= corridor;
        let course = (offset - start.2).atan2(start.1 - along).to_degrees();
        if inside && travelled(start, placed[i]) >= COURSE_NM && course.abs() <= COURSE_DEG {
            found.push((t, along, offset));
        }
    }
    found
}

fn travelled(a: (f64, f64, f64), b: (f64, f64, f64)) -> f64 {
    (a.1 - b.1).hypot(a.2 - b.2)
}

/// The last stretch without a long pause that is long enough to have been flown on purpose.
fn last_segment(aligned: &[(f64, f64, f64)]) -> Option<Vec<(f64, f64, f64)>> {
    let mut segments: Vec<Vec<(f64, f64, f64)>> = Vec::new();
    for &sample in aligned {
        match segments.last_mut() {
            Some(s) if s.last().is_some_and(|last| sample.0 - last.0 <= PAUSE_S) => s.push(sample),
            _ => segments.push(vec![sample]),
        }
    }
    segments
        .into_iter()
        .rev()
        .find(|s| match (s.first(), s.last()) {
            (Some(a), Some(b)) => a.1 - b.1 >= ALIGNED_NM,
            _ => false,
        })
}

/// Fixes of the roll up to where it becomes taxiing.
fn rolling(fixes: &[Fix]) -> &[Fix] {
    let place = |f: &Fix| (f.latitude_deg, f.longitude_deg);
    let slow = fixes.windows(2).position(|w| {
        rough_distance_nm(place(&w[0]), place(&w[1])) < ROLL_NM_S * (w[1].time_s - w[0].time_s)
    });
    &fixes[..slow.map_or(fixes.len(), |i| i + 1)]
}

/// Median offset of the roll where it lies on this runway and goes its way.
fn on_runway(frame: &RunwayFrame, length_nm: f64, fixes: &[Fix]) -> Option<f64> {
    if fixes.len() < 3 {
        return None;
    }
    let placed: Vec<(f64, f64)> = fixes
        .iter()
        .map(|f| frame.place(f.latitude_deg, f.longitude_deg))
        .collect();
    let (first, last) = (placed.first()?, placed.last()?);
    let went_nm = first.0 - last.0;
    let offset = median(placed.iter().map(|p| p.1.abs()).collect());
    let inside = placed.iter().all(|p| p.0 >= -length_nm && p.0 <= LATE_NM);
    let straight = (first.1 - last.1).abs() <= went_nm * COURSE_DEG.to_radians().tan();
    (went_nm >= COURSE_NM && inside && straight && offset <= ROLL_OFFSET_NM).then_some(offset)
}

/// Moment at which the threshold was crossed inside the corridor.
fn crossing(frame: &RunwayFrame, fixes: &[Fix]) -> Option<f64> {
    let placed = |f: &Fix| frame.place(f.latitude_deg, f.longitude_deg);
    fixes.windows(2).rev().find_map(|w| {
        let (a, b) = (placed(&w[0]), placed(&w[1]));
        let close = a.1.abs().max(b.1.abs()) <= 2.0 * CORRIDOR_NM;
        // A receiver silent for longer leaves the moment open by more than a hundred metres.
        let prompt = w[1].time_s - w[0].time_s <= SAME_TIME_S;
        (a.0 > 0.0 && b.0 <= 0.0 && close && prompt)
            .then(|| w[0].time_s + (w[1].time_s - w[0].time_s) * a.0 / (a.0 - b.0))
    })
}
