//! What a column's name says: words of several languages become concepts, and units are taken apart.

/// Concept, and the words that stand for it. Words are common in several languages of aviation.
const WORDS: &[(&str, &str)] = &[
    (
        "time",
        "time t elapsed clock zeit temps tiempo timestamp utc gmt heure",
    ),
    ("id", "id ident key number no nr"),
    ("flight", "flight flt flug vol vuelo leg"),
    ("altitude", "alt altitude hoehe höhe altitud elevation"),
    (
        "radio",
        "radio radalt ra ralt radar funkhoehe lralt radioalt",
    ),
    ("height", "height hgt"),
    ("pressure", "pressure press std qne standard druckhoehe"),
    ("baro", "baro corrected"),
    ("qnh", "qnh"),
    ("cas", "cas ias fahrt"),
    ("tas", "tas"),
    ("airspeed", "airspeed vi"),
    (
        "speed",
        "speed spd velocity geschw geschwindigkeit vitesse velocidad rate",
    ),
    ("gs", "gs gspd groundspeed grundgeschw"),
    ("ground", "ground gnd grd boden sol suelo"),
    ("air", "air airborne luft"),
    ("wheels", "wow wheels"),
    ("vertical", "vertical vert climb steigen"),
    ("vs", "vs ivv vspd vvi roc"),
    (
        "pitch",
        "pitch theta laengsneigung längsneigung nick nickwinkel assiette cabeceo",
    ),
    ("roll", "roll bank phi querneigung rollwinkel roulis alabeo"),
    ("heading", "hdg heading steuerkurs cap rumbo"),
    ("track", "trk track kurs"),
    ("true", "true tru rechtweisend"),
    ("magnetic", "mag magnetic"),
    ("latitude", "lat latitude breite"),
    ("longitude", "lon long longitude laenge länge"),
    ("nz", "nz"),
    ("nx", "nx"),
    ("ny", "ny"),
    ("normal", "normal"),
    ("forward", "forward longitudinal"),
    ("lateral", "lateral"),
    ("accel", "accel acc acceleration load lastvielfaches"),
    ("flap", "flap flaps klappe klappen volets"),
    ("slat", "slat slats"),
    ("lever", "lever handle selector detent hebel"),
    ("surface", "surface angle winkel"),
    ("position", "position pos stellung"),
    ("gear", "gear fahrwerk ldg"),
    ("down", "down dn locked unten"),
    ("up", "up retracted oben"),
    (
        "speedbrake",
        "speedbrake speedbrakes spoiler spoilers sbrk airbrake störklappe",
    ),
    ("n1", "n1 fan"),
    ("left", "left l links gauche"),
    ("right", "right r rechts droite"),
    ("glide", "glide gp glideslope gleitweg"),
    ("path", "path slope"),
    ("localizer", "loc localizer lokalizer"),
    ("deviation", "dev deviation ablage"),
    ("ils", "ils receiver"),
    ("on", "on tuned beam"),
    ("frequency", "freq frequency"),
    ("mass", "mass weight wt gw masse gewicht"),
    ("gross", "gross total"),
    ("wind", "wind windspeed"),
    ("direction", "dir direction from richtung"),
    ("temperature", "temp temperature temperatur"),
    ("static", "static outside aussen"),
    ("sat", "sat oat"),
    ("vref", "vref"),
    ("vapp", "vapp"),
    ("autopilot", "autopilot ap"),
    ("autothrust", "autothrust athr autothrottle"),
    ("toga", "toga"),
    ("around", "around"),
    ("go", "go"),
    ("reverser", "rev reverser reverse"),
    ("windshear", "windshear"),
    ("stall", "stall"),
    ("warning", "warn warning alert"),
    ("taws", "taws gpws egpws"),
    ("one", "1"),
    ("two", "2"),
    ("three", "3"),
    ("four", "4"),
    ("engine", "eng engine"),
    ("", "recorded as value val mode state ac aircraft data a"),
];

/// Words of units; the catalogue's unit decides which of several meanings holds.
const UNITS: &[(&str, &[&str])] = &[
    ("ft", &["ft"]),
    ("feet", &["ft"]),
    ("fuss", &["ft"]),
    ("m", &["m"]),
    ("meter", &["m"]),
    ("metres", &["m"]),
    ("meters", &["m"]),
    ("km", &["km"]),
    ("kt", &["kt"]),
    ("kts", &["kt"]),
    ("knots", &["kt"]),
    ("knoten", &["kt"]),
    ("ms", &["ms", "m/s"]),
    ("mps", &["m/s"]),
    ("milliseconds", &["ms"]),
    ("s", &["s"]),
    ("sec", &["s"]),
    ("seconds", &["s"]),
    ("us", &["us"]),
    ("ns", &["ns"]),
    ("kmh", &["km/h"]),
    ("kph", &["km/h"]),
    ("mph", &["mph"]),
    ("fpm", &["ft/min"]),
    ("fps", &["ft/s"]),
    ("deg", &["deg", "degC"]),
    ("degrees", &["deg"]),
    ("grad", &["deg"]),
    ("rad", &["rad"]),
    ("radians", &["rad"]),
    ("g", &["g"]),
    ("ms2", &["m/s2"]),
    ("pct", &["%"]),
    ("percent", &["%"]),
    ("prozent", &["%"]),
    ("ua", &["uA"]),
    ("microamps", &["uA"]),
    ("dots", &["dots"]),
    ("dot", &["dots"]),
    ("kg", &["kg"]),
    ("kilograms", &["kg"]),
    ("lb", &["lb"]),
    ("lbs", &["lb"]),
    ("tonnes", &["t"]),
    ("c", &["C"]),
    ("degc", &["C"]),
    ("celsius", &["C"]),
    ("k", &["K"]),
    ("kelvin", &["K"]),
    ("hpa", &["hPa"]),
    ("mhz", &["MHz"]),
    ("khz", &["kHz"]),
];

/// What is written with signs, as a word.
const SIGNS: &[(&str, &str)] = &[
    ("m/s²", " ms2 "),
    ("m/s^2", " ms2 "),
    ("m/s2", " ms2 "),
    ("m/s", " mps "),
    ("ft/min", " fpm "),
    ("feet_per_minute", " fpm "),
    ("ft/s", " fps "),
    ("km/h", " kmh "),
    ("°c", " degc "),
    ("°", " deg "),
    ("%", " pct "),
    ("µa", " ua "),
    ("go_around", " toga "),
    ("go around", " toga "),
];

/// Parameter; what must be there, `-` what must not be.
const ROLES: &[(&str, &str)] = &[
    ("pressure_altitude_ft", "altitude -radio -baro -qnh"),
    ("pressure_altitude_ft", "pressure altitude"),
    ("baro_altitude_ft", "baro altitude"),
    ("baro_altitude_ft", "qnh altitude"),
    ("radio_altitude_ft", "radio"),
    ("cas_kt", "cas -ground -wind"),
    ("cas_kt", "airspeed -true"),
    ("tas_kt", "tas"),
    ("tas_kt", "true airspeed"),
    ("ground_speed_kt", "ground speed"),
    ("ground_speed_kt", "gs -deviation"),
    ("vertical_speed_fpm", "vertical speed"),
    ("vertical_speed_fpm", "vertical -accel -path"),
    ("vertical_speed_fpm", "vs"),
    ("pitch_deg", "pitch"),
    ("roll_deg", "roll"),
    ("heading_true_deg", "heading -magnetic"),
    ("track_true_deg", "track -magnetic"),
    ("latitude_deg", "latitude -accel"),
    ("longitude_deg", "longitude -accel"),
    ("normal_accel_g", "nz"),
    ("normal_accel_g", "normal accel"),
    ("normal_accel_g", "vertical accel"),
    ("longitudinal_accel_g", "nx"),
    ("longitudinal_accel_g", "forward accel"),
    ("longitudinal_accel_g", "longitude accel"),
    ("lateral_accel_g", "ny"),
    ("lateral_accel_g", "lateral accel"),
    ("flap_lever", "flap lever"),
    ("flap_lever", "lever -gear -speedbrake"),
    ("flap_angle_deg", "flap -lever"),
    ("slat_angle_deg", "slat -lever"),
    ("gear_lever", "gear lever"),
    ("gear_down", "gear -lever"),
    ("speedbrake", "speedbrake -ground"),
    ("n1_1_pct", "n1 left"),
    ("n1_2_pct", "n1 right"),
    ("n1_1_pct", "n1 one"),
    ("n1_2_pct", "n1 two"),
    ("n1_3_pct", "n1 three"),
    ("n1_4_pct", "n1 four"),
    ("glide_path_dev_dots", "glide"),
    ("glide_path_dev_dots", "gs deviation"),
    ("localizer_dev_dots", "localizer -frequency"),
    ("ils_tuned", "ils on"),
    ("ils_freq_mhz", "ils frequency"),
    ("gross_mass_kg", "mass -on -wheels"),
    ("wind_speed_kt", "wind -direction"),
    ("wind_from_deg", "wind direction"),
    ("on_ground", "wheels"),
    ("on_ground", "on ground"),
    ("on_ground", "ground -speed -speedbrake -track"),
    ("on_ground", "air -speed -temperature -static"),
    ("vref_kt", "vref"),
    ("vapp_kt", "vapp"),
    ("static_air_temp_c", "sat"),
    ("static_air_temp_c", "static"),
    ("qnh_hpa", "qnh -altitude"),
    ("autopilot", "autopilot"),
    ("autothrust", "autothrust"),
    ("toga", "toga"),
    ("taws_alert", "taws"),
    ("windshear_alert", "windshear"),
    ("stall_warning", "stall"),
    ("reverser", "reverser"),
    ("ground_spoiler", "speedbrake ground"),
];

/// A name taken apart.
#[derive(Debug, Clone, Default)]
pub(super) struct Name {
    pub(super) concepts: Vec<&'static str>,
    pub(super) units: Vec<&'static str>,
    /// Words that mean nothing here.
    pub(super) unknown: Vec<String>,
}

impl Name {
    pub(super) fn has(&self, concept: &str) -> bool {
        self.concepts.contains(&concept)
    }

    /// The unit in the name that can become `target`, as a map spells it.
    pub(super) fn unit(&self, target: &str) -> Option<&'static str> {
        let fits = |unit: &&&str| crate::load::units::conversion(unit, target).is_some();
        self.units.iter().rev().find(fits).copied()
    }
}

fn words(column: &str) -> Vec<String> {
    let mut text = column.to_owned();
    for (sign, word) in SIGNS {
        for form in [(*sign).to_owned(), sign.to_uppercase()] {
            text = text.replace(&form, word);
        }
    }
    let mut words = vec![String::new()];
    let mut before = ' ';
    for c in text.chars() {
        let hump = before.is_lowercase() && c.is_uppercase();
        if !c.is_alphanumeric() || hump {
            words.push(String::new());
        }
        if c.is_alphanumeric()
            && let Some(last) = words.last_mut()
        {
            last.extend(c.to_lowercase());
        }
        before = c;
    }
    words.retain(|word| !word.is_empty());
    words
}

pub(super) fn read(column: &str) -> Name {
    let mut name = Name::default();
    for word in words(column) {
        let units = UNITS.iter().find(|(unit, _)| *unit == word);
        let concept = WORDS
            .iter()
            .find(|(_, all)| all.split(' ').any(|w| w == word));
        if let Some((_, units)) = units {
            name.units.extend(*units);
        }
        match concept {
            Some((concept, _)) if !concept.is_empty() => name.concepts.push(concept),
            Some(_) => {}
            None if units.is_some() => {}
            None => {
                // N11, N12: fan and engine in one.
                let engine = ["n11", "n12", "n13", "n14"].iter().position(|n| *n == word);
                match engine {
                    Some(i) => {
                        name.concepts.push("n1");
                        name.concepts.push(["one", "two", "three", "four"][i]);
                    }
                    None => name.unknown.push(word),
                }
            }
        }
    }
    name
}

/// Parameters that a name may mean, and whether every word of it is understood.
pub(super) fn roles(column: &str, name: &Name) -> Vec<(&'static str, bool)> {
    if let Some((exact, _)) = ROLES.iter().find(|(parameter, _)| *parameter == column) {
        return vec![(exact, true)];
    }
    let mut found: Vec<(&'static str, bool, usize)> = Vec::new();
    for (parameter, rule) in ROLES {
        let fits = rule.split(' ').all(|word| match word.strip_prefix('-') {
            Some(not) => !name.has(not),
            None => name.has(word),
        });
        let used = rule
            .split(' ')
            .filter(|word| !word.starts_with('-'))
            .count();
        if fits && !found.iter().any(|(known, ..)| known == parameter) {
            found.push((parameter, name.unknown.is_empty(), used));
        }
    }
    // The meaning that accounts for most words goes first.
    found.sort_by_key(|(.., used)| std::cmp::Reverse(*used));
    let most = found.first().map_or(0, |f| f.2);
    let several = found.iter().filter(|f| f.2 == most).count() > 1;
    found
        .into_iter()
        .filter(|f| f.2 == most)
        .map(|(parameter, sure, _)| (parameter, sure && !several))
        .collect()
}
