//! Where the sun stands among the stars.

use serde::Serialize;

/// The sun's apparent position.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SolarPosition {
    /// Mean longitude in degrees, 0 to 360, of the mean equinox of date.
    pub mean_longitude: f64,
    /// Mean anomaly in degrees, 0 to 360.
    pub mean_anomaly: f64,
    /// Eccentricity of the Earth's orbit.
    pub eccentricity: f64,
    /// Equation of the centre in degrees.
    pub centre: f64,
    /// True longitude in degrees, 0 to 360.
    pub true_longitude: f64,
    /// Apparent longitude in degrees, aberration and nutation included.
    pub apparent_longitude: f64,
    /// Obliquity of the ecliptic in degrees, nutation included.
    pub obliquity: f64,
    /// Apparent right ascension in degrees, 0 to 360.
    pub right_ascension: f64,
    /// Apparent declination in degrees.
    pub declination: f64,
    /// Nutation in longitude in degrees.
    pub nutation: f64,
}

/// Julian date of noon of 1 January 2000.
pub(super) const J2000: f64 = 2_451_545.0;
const DAYS_PER_CENTURY: f64 = 36_525.0;

/// The sun's apparent position at a Julian Ephemeris Day (Terrestrial Time).
///
/// Mean longitude and anomaly as polynomials of the centuries since 2000, the equation of the centre as a series of
/// three sines, aberration and the largest term of nutation.
///
/// Unit: degrees. Right to 0.01° for centuries around 2000. Domain: every finite day.
///
/// Source: Meeus J (1998) Astronomical Algorithms, 2nd ed., Willmann-Bell, chapters 22 and 25 (lower accuracy).
pub fn solar_position(julian_ephemeris_day: f64) -> SolarPosition {
    let t = (julian_ephemeris_day - J2000) / DAYS_PER_CENTURY;
    let mean_longitude = 280.466_46 + t * (36_000.769_83 + t * 0.000_303_2);
    let mean_anomaly = 357.529_11 + t * (35_999.050_29 - t * 0.000_153_7);
    let eccentricity = 0.016_708_634 - t * (0.000_042_037 + t * 0.000_000_126_7);
    let anomaly = mean_anomaly.to_radians();
    let centre = (1.914_602 - t * (0.004_817 + t * 0.000_014)) * anomaly.sin()
        + (0.019_993 - t * 0.000_101) * (2.0 * anomaly).sin()
        + 0.000_289 * (3.0 * anomaly).sin();
    let node = (125.04 - 1_934.136 * t).to_radians();
    let nutation = -0.004_78 * node.sin();
    let true_longitude = mean_longitude + centre;
    let apparent_longitude = true_longitude - 0.005_69 + nutation;
    let obliquity =
        23.0 + (26.0 + (21.448 - t * (46.815 + t * (0.000_59 - t * 0.001_813))) / 60.0) / 60.0 + 0.002_56 * node.cos();
    let (sin_longitude, cos_longitude) = apparent_longitude.to_radians().sin_cos();
    let (sin_obliquity, cos_obliquity) = obliquity.to_radians().sin_cos();
    SolarPosition {
        mean_longitude: mean_longitude.rem_euclid(360.0),
        mean_anomaly: mean_anomaly.rem_euclid(360.0),
        eccentricity,
        centre,
        true_longitude: true_longitude.rem_euclid(360.0),
        apparent_longitude: apparent_longitude.rem_euclid(360.0),
        obliquity,
        right_ascension: (cos_obliquity * sin_longitude).atan2(cos_longitude).to_degrees().rem_euclid(360.0),
        declination: (sin_obliquity * sin_longitude).clamp(-1.0, 1.0).asin().to_degrees(),
        nutation,
    }
}

/// Apparent minus mean solar time in minutes, about −14 to 17.
///
/// Mean longitude − 0.0057183° − right ascension + nutation × cosine of the obliquity, four minutes a degree.
///
/// Unit: minutes. Domain: every finite Julian Ephemeris Day.
///
/// Source: Meeus J (1998) Astronomical Algorithms, 2nd ed., Willmann-Bell, chapter 28.
pub fn equation_of_time(julian_ephemeris_day: f64) -> f64 {
    let sun = solar_position(julian_ephemeris_day);
    let degrees =
        sun.mean_longitude - 0.005_718_3 - sun.right_ascension + sun.nutation * sun.obliquity.to_radians().cos();
    4.0 * half_turn(degrees)
}

/// An angle in degrees as −180 to below 180.
pub(super) fn half_turn(degrees: f64) -> f64 {
    (degrees + 180.0).rem_euclid(360.0) - 180.0
}
