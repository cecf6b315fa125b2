//! The pictures of a page as files of their own, to be put into slides and papers.
//!
//! They are taken from the finished page, so that page and file cannot differ. A file has no page around it:
//! it carries its own colours (the light ones, for paper) and says which name space it is of.

use std::collections::BTreeMap;

/// One picture as a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// Name of the file, made of small letters, digits, `-` and `_`, without ending.
    pub name: String,
    /// The SVG document.
    pub svg: String,
}

const STYLE: &str = include_str!("../templates/style.css");

/// A name for a picture about something: the kind of picture, and the id of what it is about.
pub(crate) fn name(kind: &str, id: &str) -> String {
    let safe: String = id
        .chars()
        .map(|c| match c.to_ascii_lowercase() {
            c @ ('a'..='z' | '0'..='9' | '-' | '_') => c,
            _ => '-',
        })
        .collect();
    format!("{kind}-{safe}")
}

/// Every picture of a page that has a name, in the order of the page. The small ones in the lines of tables have
/// none.
pub(crate) fn of_page(page: &str) -> Vec<Picture> {
    let style = style();
    let mut pictures = Vec::new();
    for part in page.split("<svg ").skip(1) {
        let Some((tag, rest)) = part.split_once('>') else {
            continue;
        };
        let named = tag
            .split("aria-labelledby=\"")
            .nth(1)
            .and_then(|names| names.split_once("-title"));
        let (Some((name, _)), Some((body, _))) = (named, rest.split_once("</svg>")) else {
            continue;
        };
        pictures.push(Picture {
            name: name.to_owned(),
            svg: format!(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" {tag}>\n<style>\n{style}</style>{body}</svg>\n"
            ),
        });
    }
    pictures
}

/// The rules of the style sheet that are about pictures, with the colours filled in.
fn style() -> String {
    let light = STYLE.split_once("@media").map_or("", |(light, _)| light);
    let colours: BTreeMap<&str, &str> = light
        .split("--")
        .skip(1)
        .filter_map(|part| part.split_once(": "))
        .filter_map(|(name, rest)| Some((name, rest.split(';').next()?)))
        .collect();
    let mut out = String::new();
    for line in STYLE.lines() {
        let Some(rule) = line.strip_prefix("svg ") else {
            continue;
        };
        let mut rule = rule.to_owned();
        for (name, colour) in &colours {
            rule = rule.replace(&format!("var(--{name})"), colour);
        }
        out.push_str(&rule);
        out.push('\n');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_needs_nothing_of_the_page() {
        let style = style();
        assert!(style.contains(".rate { fill: none; stroke: #"), "{style}");
        assert!(!style.contains("var("), "{style}");
    }

    #[test]
    fn names_are_made_of_our_own_letters() {
        assert_eq!(name("trend", "unstable_500"), "trend-unstable_500");
        assert_eq!(name("energy", "../A b\"<"), "energy----a-b--");
    }

    #[test]
    fn pictures_without_a_name_stay_on_the_page() {
        let page = "<p><svg aria-labelledby=\"a-title a-desc\" role=\"img\"><title id=\"a-title\">A</title></svg>\
                    <svg aria-label=\"b\" class=\"small\"><line/></svg></p>";
        let pictures = of_page(page);
        assert_eq!(pictures.len(), 1);
        assert_eq!(pictures[0].name, "a");
        assert!(
            pictures[0]
                .svg
                .ends_with("<title id=\"a-title\">A</title></svg>\n")
        );
    }
}
