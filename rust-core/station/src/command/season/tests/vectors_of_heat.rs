//! Check values of heat, clock, sun and ground, through the command.

use super::{near, number, value};

/// Zalom FG et al. (1983) Degree-Days, UC Leaflet 21373, Table 7 (55 and 90 °F, horizontal cutoff), as printed, but for the
/// double triangle of 60, 100, 75: there it prints 24.88, and integration gives 27.125. Columns: single triangle, double
/// triangle, single sine, double sine.
#[test]
fn zalom_table_7() {
    let table = [
        ([96, 110, 91], [35.0, 35.0, 35.0, 35.0]),
        ([91, 105, 96], [35.0, 35.0, 35.0, 35.0]),
        ([45, 54, 38], [0.0, 0.0, 0.0, 0.0]),
        ([38, 50, 45], [0.0, 0.0, 0.0, 0.0]),
        ([60, 80, 75], [15.0, 18.75, 15.0, 18.75]),
        ([75, 88, 60], [26.5, 22.75, 26.5, 22.75]),
        ([50, 82, 45], [11.39, 10.62, 11.85, 11.31]),
        ([45, 70, 50], [4.5, 5.06, 5.31, 5.70]),
        ([60, 100, 75], [23.75, 27.125, 22.82, 26.26]),
        ([75, 95, 60], [29.375, 25.76, 28.91, 25.30]),
        ([50, 101, 48], [19.56, 19.19, 18.95, 18.69]),
        ([48, 95, 50], [16.76, 17.13, 16.96, 17.23]),
    ];
    for ([low, high, next], wanted) in table {
        let file = format!("date,tmin,tmax\n2026-06-01,{low},{high}\n2026-06-02,{next},{next}\n");
        for (method, wanted) in ["single-triangle", "double-triangle", "single-sine", "double-sine"].iter().zip(wanted)
        {
            let options = format!("FILE --unit f --lower 55 --upper 90 --method {method}");
            near(&value("degree-days", &options, &file), "days.0.degree_days", wanted, 0.01);
        }
    }
}

/// `McMaster` GS, Wilhelm WW (1997) Agric. For. Meteorol. 87:291-300, Table 1, lower threshold 0.
#[test]
fn mcmaster_and_wilhelm_table_1() {
    let table = [
        ((10, 20), (15.0, 15.0)),
        ((1, 10), (5.5, 5.5)),
        ((-2, 8), (3.0, 4.0)),
        ((0, 6), (3.0, 3.0)),
        ((5, 10), (7.5, 7.5)),
        ((-5, 5), (0.0, 2.5)),
        ((-7, -2), (0.0, 0.0)),
        ((-10, -5), (0.0, 0.0)),
        ((-2, 10), (4.0, 5.0)),
        ((2, 15), (8.5, 8.5)),
    ];
    for ((low, high), (plain, clamped)) in table {
        let file = format!("date,tmin,tmax\n2026-06-01,{low},{high}\n");
        for (method, wanted) in [("average", plain), ("clamped-average", clamped)] {
            let options = format!("FILE --lower 0 --no-upper --method {method}");
            near(&value("degree-days", &options, &file), "total", wanted, 1e-9);
        }
    }
}

/// Computed by integration for 11.5 and 33 °C, the intermediate cutoff not held at zero.
#[test]
fn monarch_thresholds_and_cutoffs() {
    let file = "date,tmin,tmax\n2026-06-01,18,36\n2026-06-02,20,20\n";
    let table = [
        ("single-sine", [14.9710, 9.2151, 14.4421]),
        ("double-sine", [15.4543, 9.5115, 14.9087]),
        ("single-triangle", [15.25, 11.6667, 15.0]),
        ("double-triangle", [15.7344, 11.9271, 15.4688]),
    ];
    for (method, wanted) in table {
        for (cutoff, wanted) in ["horizontal", "vertical", "intermediate"].iter().zip(wanted) {
            let options = format!("FILE --method {method} --cutoff {cutoff}");
            near(&value("degree-days", &options, file), "days.0.degree_days", wanted, 0.0005);
        }
    }
}

/// Zalucki MP (1982) J. Aust. Entomol. Soc. 21:241-246: heat of the stages; durations computed from it with base 11.5 °C.
#[test]
fn durations_at_constant_temperatures() {
    let table = [
        (18, [6.923, 4.969, 4.277, 3.769, 5.492, 10.246], 35.677),
        (20, [5.294, 3.800, 3.271, 2.882, 4.200, 7.835], 27.282),
        (25, [3.333, 2.393, 2.059, 1.815, 2.644, 4.933], 17.178),
        (30, [2.432, 1.746, 1.503, 1.324, 1.930, 3.600], 12.535),
    ];
    for (at, stages, total) in table {
        let found = value("durations", &format!("--at {at}"), "");
        for (stage, days) in stages.iter().enumerate() {
            near(&found, &format!("stages.{stage}.days.value"), *days, 0.001);
        }
        near(&found, "stages.5.days_since_laying.value", total, 0.001);
    }
}

/// The trade's rules of thumb (common practice, no source) at constant 25 and 26 °C: eggs 3 to 8 days, larvae 9 to 16 in
/// all, first to fourth instar 1 to 3 each, the fifth 3 to 5.
#[test]
fn rules_of_thumb() {
    for at in [25, 26] {
        let found = value("durations", &format!("--at {at}"), "");
        let days = |stage: usize| number(&found, &format!("stages.{stage}.days.value"));
        assert!((3.0..=8.0).contains(&days(0)) && (3.0..=5.0).contains(&days(5)));
        assert!((1..=4).all(|stage| (1.0..=3.0).contains(&days(stage))));
        assert!((9.0..=16.0).contains(&(1..=5).map(days).sum::<f64>()));
    }
}

/// Control means of a rearing at five temperatures (Ragonese, Sarkar, Hall & Altizer, data of 2019 in a public
/// repository), 18 to 30 °C; the line computed with numpy.
#[test]
fn threshold_and_heat_from_rearings() {
    let table = [
        ([38.636_364, 25.769_231, 16.0, 13.692_308], 11.876, 242.21),
        ([18.461_538, 11.730_769, 8.0, 7.153_846], 10.373, 134.86),
        ([20.272_727, 14.038_462, 8.038_462, 6.538_462], 13.069, 109.89),
    ];
    for (days, threshold, heat) in table {
        let rows: Vec<String> = [18, 22, 26, 30].iter().zip(days).map(|(at, days)| format!("{at},{days}")).collect();
        let found = value("durations", "FILE", &format!("at,days\n{}", rows.join("\n")));
        near(&found, "lower_threshold.value", threshold, 0.001);
        near(&found, "heat_needed.value", heat, 0.01);
    }
}

/// Meeus, Astronomical Algorithms, example 25.a (from memory; computed with the same series).
#[test]
fn the_sun_of_meeus() {
    let found = value("sun", "--julian 2448908.5", "");
    for (name, wanted, slack) in [
        ("mean_longitude", 201.807_20, 1e-4),
        ("mean_anomaly", 278.993_97, 1e-4),
        ("eccentricity", 0.016_711_668, 1e-8),
        ("centre", -1.897_32, 1e-4),
        ("true_longitude", 199.909_88, 1e-4),
        ("apparent_longitude", 199.908_95, 1e-4),
        ("obliquity", 23.439_99, 1e-4),
        ("right_ascension", 198.380_83, 1e-4),
        ("declination", -7.785_07, 1e-4),
        ("equation_of_time", 13.710_9, 0.02),
    ] {
        near(&found, name, wanted, slack);
    }
}

/// Rise, noon and set in UTC with ephem 4.2.1 (horizon −50′ at the centre), and the polar day of Tromsø.
#[test]
fn rise_and_set() {
    let table = [
        ("44.9778,-93.2650", "2024-06-21", ["2024-06-21T10:26:34", "2024-06-21T18:15:02", "2024-06-22T02:03:29"]),
        ("30.2672,-97.7431", "2024-04-15", ["2024-04-15T12:03:13", "2024-04-15T18:30:49", "2024-04-16T00:58:54"]),
        ("42.9849,-81.2453", "2024-09-22", ["2024-09-22T11:12:53", "2024-09-22T17:17:26", "2024-09-22T23:21:15"]),
        ("64.8378,-147.7164", "2024-06-20", ["2024-06-20T10:57:35", "2024-06-20T21:52:40", "2024-06-21T08:47:44"]),
    ];
    for (place, date, wanted) in table {
        let found = value("sun", &format!("--place {place} --on {date}"), "");
        for (got, wanted) in [&found["rise"]["at"], &found["noon"], &found["set"]["at"]].into_iter().zip(wanted) {
            let got = chrono::DateTime::parse_from_rfc3339(got.as_str().unwrap()).unwrap();
            let wanted = chrono::DateTime::parse_from_rfc3339(&format!("{wanted}Z")).unwrap();
            assert!((got - wanted).num_seconds().abs() <= 60, "{place} {date}: {got} is not {wanted}");
        }
    }
}

/// Rothfusz LP (1990) NWS SR 90-23 with the corrections of the service's page; computed, as `MetPy` has 82/90, 90/50,
/// 95/10 and 100/40.
#[test]
fn heat_index() {
    for (at, humidity, wanted) in [
        (82, 90, 91.991_7),
        (84, 100, 103.559_9),
        (90, 50, 94.596_9),
        (90, 70, 105.922_0),
        (95, 10, 89.449_6),
        (96, 65, 121.031_6),
        (100, 40, 109.255_6),
        (100, 55, 123.638_3),
    ] {
        let found = value("heat", &format!("--at {at} --humidity {humidity} --unit f"), "");
        near(&found, "fahrenheit", wanted, 0.001);
    }
}

/// Test lines and polygons of Karney's geographiclib; Vincenty T (1975) Survey Review 23:88-93 (line from memory); others
/// computed with geographiclib 2.1.
#[test]
fn lines_and_areas() {
    let lines = [
        ("35.60777,-139.44815", "-11.17491,-69.95921", "wgs84", 8_935_244.560_481_83, 111.098_748_429_560_33),
        ("55.52454,106.05087", "77.03196,-162.81766", "wgs84", 4_105_086.171_392_442, 22.020_059_880_982_8),
        ("-19.79938,-174.47484", "-11.99349,-154.35109", "wgs84", 2_319_004.860_116_939, 71.167_275_780_171_53),
        ("44.9778,-93.2650", "44.9788,-93.2637", "wgs84", 151.210_254, 42.696_897),
        ("40.6,-73.8", "51.6,-0.5", "wgs84", 5_551_759.400_3, 51.198_883),
        ("-37.951033417,144.424867889", "-37.652821139,143.926495528", "grs80", 54_972.271, 306.868_159),
    ];
    for (from, to, ellipsoid, metres, leaves) in lines {
        let found = value("ground", &format!("--place {from} --to {to} --ellipsoid {ellipsoid}"), "");
        near(&found, "metres", metres, 0.001);
        near(&found, "leaves", leaves, 1e-5);
    }
    let there = value("ground", "--place 41.6611,-91.5302 --direction 135 --metres 250", "");
    near(&there, "lat", 41.659_508_354, 1e-9);
    near(&there, "lon", -91.528_077_601, 1e-9);
    let polygons = [
        (
            "[[-93.265,44.9778],[-93.2637,44.9778],[-93.2637,44.9788],[-93.265,44.9788],[-93.265,44.9778]]",
            427.341_844,
            11_395.361_037,
        ),
        ("[[-93,41],[-92.99,41],[-92.995,41.01],[-93,41]]", 3_216.422_947, 467_172.396_6),
    ];
    for (ring, perimeter, area) in polygons {
        let found = value("ground", "FILE", &format!("{{\"type\": \"Polygon\", \"coordinates\": [{ring}]}}"));
        near(&found, "areas.0.perimeter_metres", perimeter, 1e-5);
        near(&found, "areas.0.square_metres", area, 1e-4);
    }
}
