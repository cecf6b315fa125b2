//! Elementary functions that give the same bits on every machine.
//!
//! Those of the standard library are the platform's, which chooses among implementations by the
//! processor it runs on; the last bit may differ, and with it a rounded sample and a fleet's bytes.
//! Square roots and the four operations are exact everywhere and need no stand-in.

/// Stand-ins for the methods of [`f64`], under names that the originals do not hide.
pub(crate) trait Steady {
    fn sine(self) -> f64;
    fn cosine(self) -> f64;
    fn sine_cosine(self) -> (f64, f64);
    fn tangent(self) -> f64;
    fn arc_sine(self) -> f64;
    fn arc_tangent(self) -> f64;
    /// Angle of the point `(x, self)`.
    fn arc_tangent_of(self, x: f64) -> f64;
    fn exponential(self) -> f64;
    fn logarithm(self) -> f64;
    fn to_power(self, exponent: f64) -> f64;
    fn hypotenuse(self, other: f64) -> f64;
}

impl Steady for f64 {
    fn sine(self) -> f64 {
        libm::sin(self)
    }

    fn cosine(self) -> f64 {
        libm::cos(self)
    }

    fn sine_cosine(self) -> (f64, f64) {
        libm::sincos(self)
    }

    fn tangent(self) -> f64 {
        libm::tan(self)
    }

    fn arc_sine(self) -> f64 {
        libm::asin(self)
    }

    fn arc_tangent(self) -> f64 {
        libm::atan(self)
    }

    fn arc_tangent_of(self, x: f64) -> f64 {
        libm::atan2(self, x)
    }

    fn exponential(self) -> f64 {
        libm::exp(self)
    }

    fn logarithm(self) -> f64 {
        libm::log(self)
    }

    fn to_power(self, exponent: f64) -> f64 {
        libm::pow(self, exponent)
    }

    fn hypotenuse(self, other: f64) -> f64 {
        libm::hypot(self, other)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;
    use std::path::Path;

    #[test]
    fn they_are_the_functions_they_stand_for() {
        for step in 1..40 {
            let x = f64::from(step) / 20.0 - 0.97;
            let pairs = [
                (x.sine(), x.sin()),
                (x.cosine(), x.cos()),
                (x.sine_cosine().0, x.sin()),
                (x.tangent(), x.tan()),
                ((x / 2.0).arc_sine(), (x / 2.0).asin()),
                (x.arc_tangent(), x.atan()),
                (x.arc_tangent_of(-0.3), x.atan2(-0.3)),
                (x.exponential(), x.exp()),
                (x.abs().logarithm(), x.abs().ln()),
                (x.abs().to_power(1.7), x.abs().powf(1.7)),
                (x.hypotenuse(2.0), x.hypot(2.0)),
            ];
            for (steady, platform) in pairs {
                assert!((steady - platform).abs() < 1e-12 * platform.abs().max(1.0));
            }
        }
    }

    /// What writes a fleet uses no function of the platform.
    #[test]
    fn nothing_that_is_written_depends_on_the_platform() {
        let banned = [
            ".sin()",
            ".cos()",
            ".sin_cos()",
            ".tan()",
            ".asin()",
            ".acos()",
            ".atan()",
            ".atan2(",
            ".exp()",
            ".ln()",
            ".ln_1p()",
            ".powf(",
            ".hypot(",
            ".cbrt()",
            ".tanh()",
        ];
        let mut open = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join("src")];
        while let Some(folder) = open.pop() {
            for entry in fs::read_dir(&folder).unwrap() {
                let path = entry.unwrap().path();
                let name = path.file_name().unwrap().to_string_lossy().into_owned();
                // The score writes no fleet; tests may compare with whatever they like.
                if path.is_dir() {
                    if name != "score" {
                        open.push(path);
                    }
                } else if name.ends_with(".rs") && name != "steady.rs" && name != "tests.rs" {
                    let text = fs::read_to_string(&path).unwrap();
                    for function in banned {
                        assert!(!text.contains(function), "{}: {function}", path.display());
                    }
                }
            }
        }
    }
}
