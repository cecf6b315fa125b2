//! A review that is killed at any moment leaves a whole store, and goes on to the very same bytes.

use std::collections::BTreeMap;
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use tempfile::TempDir;

use crate::fleet::{glidetally, stderr};
use crate::same_bytes::{assert_same, demo};

const KILLS: u32 = 100;
/// What a review says of its stages, in order.
const STAGES: [&str; 6] = ["open", "load", "detect", "summarise", "report", "write"];

fn command(fleet: &Path, out: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_glidetally"));
    command.arg("review").arg(fleet).arg("--out").arg(out);
    command.args(["--step-files", "2", "-v", "--log-format", "json"]);
    command.stdout(Stdio::null()).stderr(Stdio::piped());
    command
}

/// The stage that a line of the log names.
fn stage(line: &str) -> Option<&'static str> {
    STAGES
        .into_iter()
        .find(|stage| line.contains(&format!("\"stage\":\"{stage}\"")))
}

/// Runs a review and kills it after a time, or some time after a stage began; the stage it was in, `None`
/// where it was done already.
fn killed(fleet: &Path, out: &Path, after: Option<&str>, wait: Duration) -> Option<&'static str> {
    let begun = Instant::now();
    let mut child = command(fleet, out).spawn().unwrap();
    let lines = BufReader::new(child.stderr.take().unwrap());
    let (send, said) = std::sync::mpsc::channel();
    let reader = std::thread::spawn(move || {
        for line in lines.lines().map_while(Result::ok) {
            let _ = send.send(line);
        }
    });
    let mut last = "open";
    let mut deadline = after.is_none().then(|| begun + wait);
    loop {
        let left = deadline.map_or(Duration::from_secs(60), |at| {
            at.saturating_duration_since(Instant::now())
        });
        match said.recv_timeout(left) {
            Ok(line) => {
                last = stage(&line).unwrap_or(last);
                if deadline.is_none() && after == Some(last) {
                    deadline = Some(Instant::now() + wait);
                }
            }
            Err(_) => break,
        }
    }
    let running = child.try_wait().unwrap().is_none();
    // SIGKILL: nothing of the program runs after this.
    let _ = child.kill();
    child.wait().unwrap();
    reader.join().unwrap();
    running.then_some(last)
}

#[test]
fn killed_at_a_hundred_moments_it_goes_on_to_the_same_bytes() {
    let folder = demo("12");
    let fleet = folder.path().join("fleet");
    let undisturbed = TempDir::new().unwrap();
    let begun = Instant::now();
    let output = command(&fleet, undisturbed.path()).output().unwrap();
    let whole = begun.elapsed();
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));

    let mut hits: BTreeMap<&str, u32> = BTreeMap::new();
    let mut moments = String::new();
    for number in 0..KILLS {
        let out = TempDir::new().unwrap();
        // Half over the whole time, half soon after a stage began: some stages are short. The fractions
        // of the golden ratio spread evenly and never repeat.
        let fraction = (f64::from(number) * 0.618_033_988_75).fract();
        let hit = if number % 2 == 0 {
            killed(&fleet, out.path(), None, whole.mul_f64(fraction))
        } else {
            let stage = STAGES[number as usize / 2 % STAGES.len()];
            killed(
                &fleet,
                out.path(),
                Some(stage),
                whole.mul_f64(fraction / 200.0),
            )
        };
        let hit = hit.unwrap_or("done");
        *hits.entry(hit).or_default() += 1;
        moments.push_str(&format!("{number}:{hit} "));
        if out.path().join("restricted/store/runs").is_dir() {
            let verify = glidetally(&["store", "verify", out.path().to_str().unwrap()]);
            assert_eq!(
                verify.status.code(),
                Some(0),
                "{number}: {}",
                stderr(&verify)
            );
        }
        let again = command(&fleet, out.path()).output().unwrap();
        assert_eq!(again.status.code(), Some(0), "{number}: {}", stderr(&again));
        assert_same(undisturbed.path(), out.path());
        for file in ["share/run.json", "share/report.html"] {
            let read = |folder: &Path| fs::read(folder.join(file)).unwrap();
            assert!(
                read(undisturbed.path()) == read(out.path()),
                "{number}: {file} differs"
            );
        }
    }
    println!("kills by stage: {hits:?}\n{moments}");
    for stage in STAGES {
        assert!(
            hits.contains_key(stage),
            "never killed in {stage}: {hits:?}"
        );
    }
}
