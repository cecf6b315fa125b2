//! Colours: every pair of text and ground must be readable, light and dark.

use std::collections::BTreeMap;

const STYLE: &str = include_str!("../../templates/style.css");

/// The colour variables of one block of the style sheet.
fn colours(block: &str) -> BTreeMap<&str, [f64; 3]> {
    block
        .split("--")
        .skip(1)
        .filter_map(|part| {
            let (name, rest) = part.split_once(": #")?;
            let channel = |at: usize| {
                let value = u8::from_str_radix(rest.get(at..at + 2)?, 16).ok()?;
                Some(f64::from(value) / 255.0)
            };
            Some((name, [channel(0)?, channel(2)?, channel(4)?]))
        })
        .collect()
}

/// Contrast ratio as WCAG 2.2 defines it (relative luminance of sRGB, 0.05 of flare).
fn contrast(a: [f64; 3], b: [f64; 3]) -> f64 {
    let luminance = |colour: [f64; 3]| {
        let [r, g, b] = colour.map(|c| {
            if c <= 0.04045 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        });
        0.2126 * r + 0.7152 * g + 0.0722 * b
    };
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn black_on_white_is_21_to_1() {
    // WCAG 2.2: contrast ratios range from 1 to 21.
    assert!((contrast([0.0; 3], [1.0; 3]) - 21.0).abs() < 1e-9);
}

#[test]
fn text_can_be_read_on_its_ground() {
    let (light, rest) = STYLE.split_once("@media screen").unwrap();
    let dark = rest.split("box-sizing").next().unwrap();
    for block in [light, dark] {
        let colours = colours(block);
        assert_eq!(colours.len(), 10);
        for text in ["ink", "soft", "mark", "second", "flag"] {
            for ground in ["paper", "sheet"] {
                let ratio = contrast(colours[text], colours[ground]);
                assert!(ratio >= 4.5, "{text} on {ground}: {ratio:.2}");
            }
        }
        // Marks on the band carry meaning without being text: WCAG asks 3 to 1.
        for mark in ["mark", "second"] {
            assert!(contrast(colours[mark], colours["band"]) >= 3.0, "{mark}");
        }
    }
}

#[test]
fn colours_are_named_once() {
    let after = STYLE.split("* { box-sizing").nth(1).unwrap();
    assert!(!after.contains('#'), "a colour outside the variables");
}
