//! Progress on stderr: shown to people, silent when piped, quiet or verbose.

use std::io::IsTerminal;
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use crate::arguments::Global;

/// A bar that counts `unit`s.
pub(crate) fn bar(global: &Global, what: &'static str, unit: &'static str) -> ProgressBar {
    if global.quiet || global.verbose > 0 || !std::io::stderr().is_terminal() {
        return ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
    }
    let template = format!(
        "{{prefix:>10}} {{bar:32}} {{pos}}/{{len}} {unit}, {{per_sec}}, {{eta}} left {{msg}}"
    );
    let bar = ProgressBar::new(0);
    if let Ok(style) = ProgressStyle::with_template(&template) {
        bar.set_style(style);
    }
    bar.set_prefix(what);
    bar.enable_steady_tick(Duration::from_millis(200));
    bar
}
