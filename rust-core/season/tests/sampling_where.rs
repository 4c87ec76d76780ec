//! Which plants, where, in which order: laws of the seeded choices.

use proptest::prelude::*;
use season::Refusal;
use season::sampling::{
    Allocation, EveryKth, Stratum, allocate, belts, clusters, points_in, short_walk, shortest_walk,
};
use survey::place::{Area, Pin};
use survey::protocol::PlantChoice;

fn pin(lat: f64, lon: f64) -> Pin {
    Pin::new(lat, lon).unwrap()
}

fn ring(corners: &[(f64, f64)]) -> Vec<Pin> {
    corners.iter().map(|&(lat, lon)| pin(lat, lon)).collect()
}

/// A square of about a hectare with a square pond in the middle, near Minneapolis; invented.
fn square_with_pond() -> Area {
    let outline = ring(&[(45.0, -93.0), (45.0, -92.9987), (45.0009, -92.9987), (45.0009, -93.0)]);
    let pond = ring(&[(45.0003, -92.9996), (45.0003, -92.9991), (45.0006, -92.9991), (45.0006, -92.9996)]);
    Area::new(outline, vec![pond]).unwrap()
}

#[test]
fn every_kth_passes_the_start_and_keeps_the_step() {
    let plan = EveryKth::plan(350, 50, 11).unwrap();
    assert_eq!((plan.k(), plan.skip()), (7, 6));
    assert!(plan.start() < 7);
    let picks: Vec<_> = plan.picks(350).collect();
    assert_eq!(picks.len(), 50);
    assert_eq!(picks[0], plan.start() + 1);
    assert!(picks.windows(2).all(|pair| pair[1] - pair[0] == 7));
    let two: Vec<Vec<_>> = (0..2).map(|person| plan.picks_of(350, person, 2).collect()).collect();
    assert_eq!((two[0][0], two[1][0], two[0][1]), (picks[0], picks[1], picks[2]));
    assert_eq!(plan.picks_of(350, 2, 2).count() + plan.picks_of(350, 0, 0).count(), 0);
    assert_eq!(PlantChoice::from(plan), PlantChoice::EveryKth { k: 7, start: plan.start() });
    assert_eq!(EveryKth::plan(10, 50, 1).unwrap().k(), 1);
    assert_eq!(EveryKth::plan(0, 5, 1), Err(Refusal::Nothing));
    assert_eq!(EveryKth::plan(5, 0, 1), Err(Refusal::Nothing));
}

/// Starts are even: χ² of 7 classes over 7,000 seeds stays below its 99.9 % point with 6 degrees of freedom, 22.46.
#[test]
fn starts_are_even() {
    let mut starts = [0_u32; 7];
    for seed in 0..7_000 {
        starts[EveryKth::plan(350, 50, seed).unwrap().start() as usize] += 1;
    }
    let squares: f64 = starts.iter().map(|&count| (f64::from(count) - 1000.0).powi(2) / 1000.0).sum();
    assert!(squares < 22.46, "{starts:?}");
}

/// A patch in the shape of an L with a hole, cut into cells; χ² of the points per cell, expected by the cell's share of
/// the area, against the 99.9 % point of χ².
#[test]
fn points_are_even_over_the_ground() {
    let l_shape = ring(&[
        (45.0, -93.0),
        (45.0, -92.996),
        (45.002, -92.996),
        (45.002, -92.998),
        (45.004, -92.998),
        (45.004, -93.0),
    ]);
    let hole = ring(&[(45.0005, -92.9995), (45.0005, -92.9985), (45.0015, -92.9985), (45.0015, -92.9995)]);
    let area = Area::new(l_shape, vec![hole]).unwrap();
    let points = points_in(&area, 30_000, 20_260_601).unwrap();
    assert!(points.iter().all(|&point| area.contains(point)));
    let cells: Vec<(f64, f64)> =
        (0..8).flat_map(|row| (0..8).map(move |column| (f64::from(row), f64::from(column)))).collect();
    let within = |(row, column): (f64, f64)| {
        let (south, west) = (45.0 + row * 0.0005, -93.0 + column * 0.0005);
        move |point: &&Pin| {
            (south..south + 0.0005).contains(&point.lat()) && (west..west + 0.0005).contains(&point.lon())
        }
    };
    // Cells lie wholly inside or outside, the L and its hole being drawn on their lines.
    let inside: Vec<_> = cells
        .into_iter()
        .filter(|&(row, column)| area.contains(pin(45.000_25 + row * 0.0005, -92.999_75 + column * 0.0005)))
        .collect();
    let expected = points.len() as f64 / inside.len() as f64;
    let counts: Vec<_> = inside.iter().map(|&cell| points.iter().filter(within(cell)).count()).collect();
    assert_eq!(counts.iter().sum::<usize>(), points.len());
    assert_eq!(inside.len(), 44);
    let squares: f64 = counts.iter().map(|&count| (count as f64 - expected).powi(2) / expected).sum();
    // 99.9 % point of χ² with 43 degrees of freedom.
    assert!(squares < 77.42, "{squares}: {counts:?}");
}

#[test]
fn the_same_seed_gives_the_same_points_and_more_go_on_from_fewer() {
    let area = square_with_pond();
    let ten = points_in(&area, 10, 5).unwrap();
    assert_eq!(ten, points_in(&area, 20, 5).unwrap()[..10]);
    assert_ne!(ten, points_in(&area, 10, 6).unwrap());
    assert_eq!(points_in(&area, 0, 5), Ok(Vec::new()));
    assert!(matches!(points_in(&area, 1_000_000, 5), Err(Refusal::ImpossibleCounts { .. })));
}

#[test]
fn patches_that_hold_no_point_are_refused() {
    // Corners on one line have no area; a sliver thinner than the last digit of a degree holds no point.
    for thickness in [0.0, 1e-14] {
        let sliver = Area::new(ring(&[(45.0, -93.0), (45.0 + thickness, -92.9), (45.0, -92.8)]), Vec::new()).unwrap();
        assert_eq!(points_in(&sliver, 1, 1), Err(Refusal::Nothing));
        assert_eq!(clusters(&sliver, 1.0, 1, 1), Err(Refusal::Nothing));
    }
    let polar = Area::new(ring(&[(89.5, 0.0), (89.5, 10.0), (90.0, 5.0)]), Vec::new()).unwrap();
    assert_eq!(points_in(&polar, 1, 1), Err(Refusal::NotANumber));
    assert_eq!(belts(&polar, 3, 1.0, 0.0, 1), Err(Refusal::NotANumber));
    assert_eq!(short_walk(&[pin(90.0, 0.0), pin(89.9, 1.0)], None), Err(Refusal::NotANumber));
}

#[test]
fn clusters_know_how_much_of_them_is_inside() {
    let area = square_with_pond();
    let all = clusters(&area, 3.0, 200, 3).unwrap();
    assert!(all.iter().all(|cluster| cluster.share_inside > 0.0 && cluster.share_inside <= 1.0));
    assert!(
        all.iter().any(|cluster| cluster.share_inside > 0.999) && all.iter().any(|cluster| cluster.share_inside < 0.9)
    );
    // A circle of 500 m around a patch of a hectare holds the whole patch.
    let wide = clusters(&area, 500.0, 1, 3).unwrap()[0];
    let patch_share = area.square_metres() / (std::f64::consts::PI * 500.0 * 500.0);
    assert!((wide.share_inside - patch_share).abs() < 0.006, "{wide:?} {patch_share}");
    for radius in [0.0, -1.0, f64::NAN, 2_000.0] {
        assert_eq!(clusters(&area, radius, 1, 1), Err(Refusal::NotANumber));
    }
}

/// Over all starts the belts' area is the patch's share of the ground: lines × width ÷ extent, exactly on the mean.
#[test]
fn belts_take_their_share_of_the_patch() {
    let area = square_with_pond();
    for direction in [0.0, 37.0, 90.0, 200.0] {
        let mean: f64 = (0..400)
            .map(|seed| {
                belts(&area, 5, 2.0, direction, seed).unwrap().iter().map(|belt| belt.square_metres).sum::<f64>()
            })
            .sum::<f64>()
            / 400.0;
        let extent = {
            let corners = area.outline();
            let (sin, cos) = f64::to_radians(direction).sin_cos();
            let across = |corner: &Pin| {
                let east = (corner.lon() + 92.999_35) * 78_847.0;
                let north = (corner.lat() - 45.000_45) * 111_132.0;
                east * cos - north * sin
            };
            let (low, high) =
                corners.iter().map(across).fold((f64::MAX, f64::MIN), |(low, high), at| (low.min(at), high.max(at)));
            high - low
        };
        let expected = area.square_metres() * 5.0 * 2.0 / extent;
        assert!((mean / expected - 1.0).abs() < 0.03, "{direction}: {mean} {expected}");
    }
    let crossing = belts(&area, 5, 2.0, 90.0, 1).unwrap();
    assert!(
        crossing.iter().any(|belt| crossing.iter().filter(|other| other.line == belt.line).count() == 2),
        "the pond"
    );
    for belt in &crossing {
        assert!((belt.from.distance_m(belt.to) * 2.0 - belt.square_metres).abs() < 0.05, "{belt:?}");
    }
    for (lines, width, direction) in
        [(0, 1.0, 0.0), (5, 0.0, 0.0), (5, f64::NAN, 0.0), (5, 50.0, 0.0), (5, 1.0, f64::NAN)]
    {
        assert_eq!(belts(&area, lines, width, direction, 1), Err(Refusal::NotANumber));
    }
}

/// Neyman's allocation computed by hand: 100 × 0.5, 200 × 1, 50 × 3 share 40 plants as 5 : 20 : 15.
#[test]
fn plants_are_shared_out_by_size_or_scatter() {
    let strata = [(100, 0.5), (200, 1.0), (50, 3.0)].map(|(units, deviation)| Stratum { units, deviation });
    assert_eq!(allocate(&strata, 40, Allocation::ByScatter), Ok(vec![5, 20, 15]));
    assert_eq!(allocate(&strata, 35, Allocation::BySize), Ok(vec![10, 20, 5]));
    assert_eq!(allocate(&strata, 350, Allocation::ByScatter), Ok(vec![100, 200, 50]));
    assert_eq!(allocate(&strata, 351, Allocation::BySize), Err(Refusal::ImpossibleCounts { part: 351, whole: 350 }));
    assert_eq!(allocate(&strata, 5, Allocation::BySize), Err(Refusal::TooFew { have: 5, need: 6 }));
    assert_eq!(allocate(&[], 0, Allocation::BySize), Err(Refusal::Nothing));
    let odd = [Stratum { units: 5, deviation: f64::NAN }];
    assert_eq!(allocate(&odd, 3, Allocation::ByScatter), Err(Refusal::NotANumber));
    let calm = [(60, 0.0), (30, 0.0)].map(|(units, deviation)| Stratum { units, deviation });
    assert_eq!(allocate(&calm, 30, Allocation::ByScatter), Ok(vec![20, 10]));
}

/// The way by rule against the exact optimum over 400 seeded patches of 2 to 9 points, free and fixed starts.
#[test]
fn walks_are_close_to_the_shortest() {
    let area = square_with_pond();
    let mut ratios = Vec::new();
    for seed in 0..400_u64 {
        let count = 2 + usize::try_from(seed % 8).unwrap();
        let points = points_in(&area, count, seed).unwrap();
        let start = (seed % 2 == 0).then_some(0);
        let (short, shortest) = (short_walk(&points, start).unwrap(), shortest_walk(&points, start).unwrap());
        assert!(start.is_none_or(|start| short.order[0] == start && shortest.order[0] == start));
        ratios.push(short.metres / shortest.metres);
    }
    let mean = ratios.iter().sum::<f64>() / ratios.len() as f64;
    let worst = ratios.iter().copied().fold(0.0, f64::max);
    println!("short walk ÷ shortest walk: mean {mean:.5}, greatest {worst:.5}, over {} patches", ratios.len());
    assert!(mean <= 1.1 && ratios.iter().all(|ratio| *ratio > 1.0 - 1e-6), "{mean}");
}

#[test]
fn walks_of_few_or_equal_points() {
    let here = pin(45.0, -93.0);
    assert_eq!(short_walk(&[], None), Err(Refusal::Nothing));
    assert_eq!(short_walk(&[here], None).unwrap().order, [0]);
    assert_eq!(shortest_walk(&[here], Some(0)).unwrap().order, [0]);
    assert!(short_walk(&[here; 5], Some(3)).unwrap().metres.abs() < 1e-9);
    assert!(matches!(short_walk(&[here], Some(1)), Err(Refusal::ImpossibleCounts { .. })));
    assert!(matches!(shortest_walk(&[here; 10], None), Err(Refusal::ImpossibleCounts { part: 10, whole: 9 })));
}

prop_compose! {
    /// A star-shaped patch of 5 to 12 corners with a smaller patch of the same shape as its hole.
    fn any_patch()(
        lat in -70.0..70.0_f64,
        lon in -170.0..170.0_f64,
        reach in prop::collection::vec(0.4..1.0_f64, 5..12),
        metres in 5.0..3_000.0_f64,
        hole in 0.1..0.9_f64,
    ) -> Area {
        let at = |scale: f64| -> Vec<Pin> {
            let corners = reach.len() as f64;
            reach.iter().enumerate().map(|(corner, reach)| {
                let (sin, cos) = (corner as f64 * std::f64::consts::TAU / corners).sin_cos();
                let far = scale * reach * metres / 111_000.0;
                pin(lat + far * cos, lon + far * sin / lat.to_radians().cos())
            }).collect()
        };
        Area::new(at(1.0), vec![at(hole)]).unwrap()
    }
}

proptest! {
    #[test]
    fn points_lie_inside_and_in_no_hole(area in any_patch(), seed in any::<u64>()) {
        let points = points_in(&area, 20, seed).unwrap();
        prop_assert!(points.iter().all(|&point| area.contains(point)));
        prop_assert_eq!(points, points_in(&area, 20, seed).unwrap());
    }

    #[test]
    fn middles_of_belts_lie_inside(area in any_patch(), seed in any::<u64>(), direction in 0.0..360.0_f64) {
        for belt in belts(&area, 7, 0.1, direction, seed).unwrap() {
            prop_assume!(belt.from.distance_m(belt.to) > 0.01);
            let middle = pin(f64::midpoint(belt.from.lat(), belt.to.lat()), f64::midpoint(belt.from.lon(), belt.to.lon()));
            prop_assert!(area.contains(middle));
        }
    }

    #[test]
    fn a_walk_passes_every_point_once(area in any_patch(), count in 1..60_usize, seed in any::<u64>()) {
        let points = points_in(&area, count, seed).unwrap();
        let mut order = short_walk(&points, Some(count - 1)).unwrap().order;
        prop_assert_eq!(order[0], count - 1);
        order.sort_unstable();
        prop_assert_eq!(order, (0..count).collect::<Vec<_>>());
    }

    #[test]
    fn shares_add_up_and_fit(units in prop::collection::vec((0..200_u32, 0.0..5.0_f64), 1..8), part in 0..=100_u32) {
        let strata: Vec<_> = units.iter().map(|&(units, deviation)| Stratum { units, deviation }).collect();
        let whole: u32 = units.iter().map(|(units, _)| units).sum();
        let least: u32 = units.iter().map(|(units, _)| (*units).min(2)).sum();
        prop_assume!(whole > 0);
        let plants = least + (whole - least) * part / 100;
        for by in [Allocation::BySize, Allocation::ByScatter] {
            let shares = allocate(&strata, plants, by).unwrap();
            prop_assert_eq!(shares.iter().sum::<u32>(), plants);
            prop_assert!(shares.iter().zip(&strata).all(|(share, stratum)| *share <= stratum.units && *share >= stratum.units.min(2)));
        }
    }
}
