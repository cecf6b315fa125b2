//! Runway ends: where the landing thresholds are and which way they point.

/// One landing direction of one runway.
#[derive(Debug, Clone, PartialEq)]
pub struct RunwayEnd {
    /// Airport code as the table has it.
    pub airport: String,
    /// Name of the end, e.g. `26L`.
    pub ident: String,
    /// Landing threshold (displacement already applied).
    pub latitude_deg: f64,
    /// Landing threshold.
    pub longitude_deg: f64,
    /// Elevation of the landing threshold above mean sea level.
    pub elevation_ft: f64,
    /// True bearing of the landing direction, from the pavement ends.
    pub bearing_deg: f64,
    /// Landing distance: from the landing threshold to the far pavement end.
    pub length_ft: f64,
    /// Elevation of the far pavement end, for heights along the roll.
    pub far_elevation_ft: f64,
    /// Glide-path angle; 3 unless the table says otherwise.
    pub glide_path_deg: f64,
    /// Height of the beam over the threshold; 50 unless the table says otherwise.
    pub crossing_height_ft: f64,
}

/// All runway ends, sorted by airport and ident.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Runways {
    /// The ends.
    pub ends: Vec<RunwayEnd>,
}

impl Runways {
    /// The ends of one airport.
    pub fn at<'a>(&'a self, airport: &'a str) -> impl Iterator<Item = &'a RunwayEnd> {
        self.ends.iter().filter(move |end| end.airport == airport)
    }
}
