use super::*;
use crate::testing::{real_fleet, real_flight};

#[test]
fn look() {
    let fleet = real_fleet();
    let mut files: Vec<String> = std::fs::read_dir(crate::testing::real("surveillance"))
        .unwrap()
        .map(|f| format!("surveillance/{}", f.unwrap().file_name().to_string_lossy()))
        .collect();
    files.sort();
    files.push("recorder.parquet".into());
    for f in files {
        let p = prepare(real_flight(&f), &fleet).unwrap();
        println!("== {f} {} approaches", p.approaches.len());
        for q in &p.quality {
            if q.spikes + q.stale + q.out_of_range > 0
                || q.stuck_s > 0.0
                || q.gaps > 0
                || q.coverage < 0.99
            {
                println!(
                    "   {} cov {:.3} spikes {} stuck {} gaps {} range {} stale {}",
                    q.parameter, q.coverage, q.spikes, q.stuck_s, q.gaps, q.out_of_range, q.stale
                );
            }
        }
        for a in &p.approaches {
            let mut r = a.row.clone();
            r.missing_columns = String::new();
            println!("{r:#?}");
            let c = &a.columns;
            let g = |n: &str, k: usize| c.columns.get(n).map_or(f64::NAN, |v| v[k]);
            let last = c.grid.n - 1;
            for d in [
                30.0, 20.0, 15.0, 10.0, 7.0, 5.0, 4.0, 3.0, 2.0, 1.0, 0.5, 0.0f64,
            ] {
                if let Some(dist) = c.columns.get("distance_to_threshold_nm") {
                    if let Some(k) = (0..c.grid.n).rev().find(|&k| dist[k] >= d) {
                        println!(
                            "   d {:.2} h {:.0} along {:.2} off {:.3} gs {:.0} t {}",
                            dist[k],
                            g("height_aal_ft", k),
                            g("along_nm", k),
                            g("offset_nm", k),
                            g("ground_speed_kt", k),
                            c.grid.time(k)
                        );
                    }
                }
            }
            let _ = last;
        }
    }
}
