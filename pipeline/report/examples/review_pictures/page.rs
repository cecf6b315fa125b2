//! A drawing as a file of its own: white ground, quiet colours that keep apart in grey, words for readers
//! who do not see it.

use crate::fault::Fault;
use crate::svg::Svg;

/// As the report's own pictures, on white: such a file knows nothing of the reader's settings.
const STYLE: &str = r#"<style>
text { font-family: system-ui, "Liberation Sans", Arial, sans-serif; font-size: 12px; fill: #20292c; }
.title { font-size: 14.5px; font-weight: 600; }
.axis, .tick { fill: #525f63; }
.halo { paint-order: stroke; stroke: #ffffff; stroke-width: 4px; stroke-linejoin: round; }
.strong { font-weight: 600; }
.light { fill: #ffffff; }
.blank { fill: #ffffff; }
.grid { stroke: #d6dad5; stroke-width: 1; }
.base { stroke: #525f63; stroke-width: 1; }
.found { fill: #d9e7e7; }
.worse { fill: #f3e4df; }
.line { fill: none; stroke: #1f5c66; stroke-width: 2; stroke-linejoin: round; }
.thin { fill: none; stroke: #1f5c66; stroke-width: 1; }
.plan { fill: none; stroke: #525f63; stroke-width: 1.5; stroke-dasharray: 7 4; }
.limit { fill: none; stroke: #96301c; stroke-width: 1.25; stroke-dasharray: 2 3; }
.measured { fill: none; stroke: #96301c; stroke-width: 3.5; stroke-linejoin: round; }
.bracket { stroke: #96301c; stroke-width: 1.5; }
.says { fill: #96301c; font-weight: 600; }
.dot { fill: #1f5c66; stroke: #ffffff; stroke-width: 1; }
.mark { fill: #96301c; stroke: #ffffff; stroke-width: 1; }
.hollow { fill: #ffffff; stroke: #20292c; stroke-width: 1.5; }
.interval { stroke: #1f5c66; stroke-width: 2; }
.bar { fill: #a9b9b5; }
.outer { fill: #dfe9e8; }
.inner { fill: #b4cdce; }
.c0 { fill: #eef1ee; stroke: #a9b9b5; }
.c1 { fill: #d3dcd8; }
.c2 { fill: #a5bfbe; }
.c3 { fill: #6d979b; }
.c4 { fill: #2f6570; }
.c5 { fill: #163238; }
</style>
"#;

/// The finished file.
pub(crate) fn finish(
    svg: Svg,
    size: (f64, f64),
    title: &str,
    description: &str,
) -> Result<String, Fault> {
    let body = svg.finish("picture", title, description);
    let marks = ["<polyline", "<polygon", "<circle"];
    let drawn: usize = marks.iter().map(|mark| body.matches(mark).count()).sum();
    if drawn == 0 {
        return Err(Fault::new(
            "nothing was drawn: the tables hold nothing for it",
        ));
    }
    let (width, height) = size;
    let ground = format!(
        "</desc>\n{STYLE}<rect class=\"blank\" width=\"{width:.0}\" height=\"{height:.0}\"/>\n"
    );
    let body = body
        .replacen("<svg ", "<svg xmlns=\"http://www.w3.org/2000/svg\" ", 1)
        .replacen("</desc>\n", &ground, 1);
    Ok(only_used(&body) + "\n")
}

/// Leaves out the styles that a picture does not use.
fn only_used(body: &str) -> String {
    let used = |line: &str| {
        let names = line.split('{').next().unwrap_or("");
        names.split(',').any(|name| {
            let name = name.trim().trim_start_matches('.');
            let alone = format!("class=\"{name}\"");
            let (first, last) = (format!("class=\"{name} "), format!(" {name}\""));
            body.contains(&alone) || body.contains(&first) || body.contains(&last)
        })
    };
    let kept: Vec<&str> = body
        .lines()
        .filter(|line| !line.starts_with('.') || used(line))
        .collect();
    kept.join("\n")
}
