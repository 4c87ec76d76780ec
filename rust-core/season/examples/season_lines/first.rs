//! Degree-days, the stage clock, sampling, sun, heat and ground. `None` where the topic is of another part.

use season::clock::{
    Cohort, Reached, Rearing, StageClock, Temperatures, durations, fit_rates, laying_dates, next_visit, stage_dates,
};
use season::degree_days::{Celsius, Counting, Cutoff, Filled, Gaps, Method, Thresholds, Weather, hourly, sum};
use season::densities::go_on;
use season::sampling::{
    EveryKth, HowMany, Iwao, Precision, Scatter, SequentialTest, Simulation, Taylor, belts, clusters, green_line,
    how_many_by_iwao, how_many_by_negative_binomial, how_many_by_pilot, how_many_by_poisson, how_many_by_taylor,
    how_many_for_share, how_many_for_share_within, kuno_line, points_in, short_walk, shortest_walk, what_effort_tells,
};
use season::sky::{Ellipsoid, direct, equation_of_time, heat_index, inverse, ring, solar_position, sun_at, sun_day};
use season::{Level, Refusal};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use std::fmt::Display;
use survey::date::Date;
use survey::place::{Area, Pin};
use survey::stage::Stage;

type Answer = Result<Value, String>;

pub(crate) fn answer(topic: &str, input: &Value) -> Option<Answer> {
    Some(match topic {
        "degree-days" => with(input, degree_days),
        "hourly" => with(input, by_hour),
        "durations" => with(input, stage_durations),
        "fit-rates" => with(input, rates),
        "stage-dates" => with(input, dates),
        "laying-dates" => with(input, laying),
        "next-visit" => with(input, again),
        "choose" => with(input, choose),
        "points" => with(input, points),
        "belts" => with(input, strips),
        "walk" => with(input, walk),
        "how-many" => with(input, how_many),
        "effort" => with(input, effort),
        "stop-line" => with(input, stop_line),
        "sequential-test" => with(input, sequential_test),
        "sun" => with(input, sun),
        "heat" => with(input, heat),
        "ground" => with(input, ground),
        _ => return None,
    })
}

fn with<T: DeserializeOwned>(input: &Value, answer: impl Fn(&T) -> Answer) -> Answer {
    answer(&T::deserialize(input).map_err(text)?)
}

fn text(error: impl Display) -> String {
    error.to_string()
}

#[derive(Deserialize)]
struct Heat {
    lower: f64,
    upper: Option<f64>,
    cutoff: String,
}

impl Heat {
    fn thresholds(&self) -> Result<Thresholds, String> {
        Thresholds::new(Celsius(self.lower), self.upper.map(Celsius)).map_err(text)
    }

    fn cutoff(&self) -> Result<Cutoff, String> {
        match self.cutoff.as_str() {
            "horizontal" => Ok(Cutoff::Horizontal),
            "vertical" => Ok(Cutoff::Vertical),
            "intermediate" => Ok(Cutoff::Intermediate),
            other => Err(format!("no cutoff {other:?}")),
        }
    }
}

fn method(name: &str) -> Result<Method, String> {
    match name {
        "average" => Ok(Method::Average),
        "clamped-average" => Ok(Method::ClampedAverage),
        "single-triangle" => Ok(Method::SingleTriangle),
        "double-triangle" => Ok(Method::DoubleTriangle),
        "single-sine" => Ok(Method::SingleSine),
        "double-sine" => Ok(Method::DoubleSine),
        other => Err(format!("no method {other:?}")),
    }
}

type Row = (Date, f64, f64);

fn weather(rows: &[Row]) -> Result<Weather, String> {
    Weather::read(rows.iter().copied(), season::degree_days::Scale::Celsius).map_err(text)
}

#[derive(Deserialize)]
struct DegreeDays {
    #[serde(flatten)]
    heat: Heat,
    method: String,
    weather: Vec<Row>,
}

fn degree_days(input: &DegreeDays) -> Answer {
    let counting =
        Counting::new(method(&input.method)?, input.heat.cutoff()?, input.heat.thresholds()?).map_err(text)?;
    let weather = weather(&input.weather)?;
    let (Some(first), Some(last)) = (weather.first(), weather.last()) else { return Err("no weather".to_owned()) };
    let total = sum(&Filled::over(&weather, first, last, Gaps::Interpolate), &counting).map_err(text)?;
    serde_json::to_value(total).map_err(text)
}

#[derive(Deserialize)]
struct Hourly {
    #[serde(flatten)]
    heat: Heat,
    hours: Vec<Option<f64>>,
}

fn by_hour(input: &Hourly) -> Answer {
    let hours: Vec<_> = input.hours.iter().map(|hour| hour.map(Celsius)).collect();
    let sum = hourly(&hours, input.heat.thresholds()?, input.heat.cutoff()?).map_err(text)?;
    serde_json::to_value(sum).map_err(text)
}

#[derive(Deserialize)]
struct Durations {
    at: f64,
}

fn stage_durations(input: &Durations) -> Answer {
    let all = durations(&StageClock::monarch(), Celsius(input.at), Level::P95).map_err(text)?;
    serde_json::to_value(all).map_err(text)
}

#[derive(Deserialize)]
struct Rates {
    rows: Vec<(f64, f64)>,
}

fn rates(input: &Rates) -> Answer {
    let rearings: Vec<_> = input.rows.iter().map(|&(at, days)| Rearing { at: Celsius(at), days }).collect();
    serde_json::to_value(fit_rates(&rearings, Level::P95).map_err(text)?).map_err(text)
}

#[derive(Deserialize)]
struct Dates {
    laid: Date,
    weather: Vec<Row>,
}

fn dates(input: &Dates) -> Answer {
    let temperatures = Temperatures::new(weather(&input.weather)?, None);
    let dates = stage_dates(&StageClock::monarch(), input.laid, &temperatures, Level::P95).map_err(text)?;
    let on = |reached: Reached| match reached {
        Reached::On { date, degree_days, .. } => json!([date, degree_days]),
        Reached::NotBy { .. } => Value::Null,
    };
    let ends: Vec<_> = dates
        .ends
        .iter()
        .map(
            |end| json!({"stage": end.stage, "typical": on(end.typical), "early": on(end.early), "late": on(end.late)}),
        )
        .collect();
    Ok(json!(ends))
}

#[derive(Deserialize)]
struct Laying {
    seen: Stage,
    on: Date,
    weather: Vec<Row>,
}

fn laying(input: &Laying) -> Answer {
    let temperatures = Temperatures::new(weather(&input.weather)?, None);
    let laid = laying_dates(&StageClock::monarch(), (input.seen, input.on), &temperatures, Level::P95).map_err(text)?;
    serde_json::to_value(laid).map_err(text)
}

#[derive(Deserialize)]
struct Again {
    visit: Date,
    evenly: bool,
    until: Stage,
    weather: Vec<Row>,
}

fn again(input: &Again) -> Answer {
    let temperatures = Temperatures::new(weather(&input.weather)?, None);
    let cohort = if input.evenly { Cohort::LaidEvenly } else { Cohort::LaidTheDayAfter };
    let visits = next_visit(&StageClock::monarch(), input.visit, (cohort, input.until), &temperatures).map_err(text)?;
    serde_json::to_value(visits).map_err(text)
}

#[derive(Deserialize)]
struct Choose {
    stems: u32,
    plants: u32,
    seed: u64,
}

fn choose(input: &Choose) -> Answer {
    let plan = EveryKth::plan(input.stems, input.plants, input.seed).map_err(text)?;
    Ok(json!({"k": plan.k(), "start": plan.start(), "picks": plan.picks(input.stems).collect::<Vec<_>>()}))
}

#[derive(Deserialize)]
struct Points {
    area: Area,
    count: usize,
    seed: u64,
    radius_m: Option<f64>,
}

fn points(input: &Points) -> Answer {
    match input.radius_m {
        Some(radius) => {
            serde_json::to_value(clusters(&input.area, radius, input.count, input.seed).map_err(text)?).map_err(text)
        }
        None => serde_json::to_value(points_in(&input.area, input.count, input.seed).map_err(text)?).map_err(text),
    }
}

#[derive(Deserialize)]
struct Strips {
    area: Area,
    lines: u16,
    width_m: f64,
    direction: f64,
    seed: u64,
}

fn strips(input: &Strips) -> Answer {
    let all = belts(&input.area, input.lines, input.width_m, input.direction, input.seed).map_err(text)?;
    serde_json::to_value(all).map_err(text)
}

#[derive(Deserialize)]
struct WalkPast {
    points: Vec<Pin>,
    start: Option<usize>,
    exact: bool,
}

fn walk(input: &WalkPast) -> Answer {
    let of = if input.exact { shortest_walk } else { short_walk };
    serde_json::to_value(of(&input.points, input.start).map_err(text)?).map_err(text)
}

#[derive(Deserialize)]
struct Model {
    k: Option<f64>,
    a: Option<f64>,
    b: Option<f64>,
    alpha: Option<f64>,
    beta: Option<f64>,
}

impl Model {
    fn scatter(&self) -> Scatter {
        match (self.k, self.taylor(), self.iwao()) {
            (Some(k), ..) => Scatter::NegativeBinomial { k },
            (None, Some(law), _) => Scatter::Taylor(law),
            (None, None, Some(line)) => Scatter::Iwao(line),
            (None, None, None) => Scatter::Poisson,
        }
    }

    fn taylor(&self) -> Option<Taylor> {
        Some(Taylor { a: self.a?, b: self.b? })
    }

    fn iwao(&self) -> Option<Iwao> {
        Some(Iwao { alpha: self.alpha?, beta: self.beta? })
    }
}

#[derive(Deserialize)]
struct Wanted {
    #[serde(flatten)]
    model: Model,
    mean: Option<f64>,
    pilot: Option<Vec<u32>>,
    share: Option<f64>,
    precision: f64,
    level: Option<f64>,
    within: Option<f64>,
}

fn how_many(input: &Wanted) -> Answer {
    let level = input.level.map(Level::new).transpose().map_err(text)?;
    let precision = match level {
        Some(level) => Precision::HalfWidth { share: input.precision, level },
        None => Precision::StandardError { share: input.precision },
    };
    let of_mean = |mean: f64| match input.model.scatter() {
        Scatter::Poisson => how_many_by_poisson(mean, precision),
        Scatter::NegativeBinomial { k } => how_many_by_negative_binomial(mean, k, precision),
        Scatter::Taylor(law) => how_many_by_taylor(mean, law, precision),
        Scatter::Iwao(line) => how_many_by_iwao(mean, line, precision),
    };
    let answer: Result<HowMany, Refusal> = match (input.mean, &input.pilot, input.share, input.within) {
        (Some(mean), ..) => of_mean(mean),
        (None, Some(pilot), ..) => how_many_by_pilot(pilot, precision),
        (None, None, Some(share), Some(within)) => {
            how_many_for_share_within(share, within, level.unwrap_or(Level::P95))
        }
        (None, None, Some(share), None) => how_many_for_share(share, precision),
        (None, None, None, _) => Err(Refusal::Nothing),
    };
    serde_json::to_value(answer.map_err(text)?).map_err(text)
}

#[derive(Deserialize)]
struct Effort {
    #[serde(flatten)]
    model: Model,
    units: Vec<u32>,
    mean: f64,
    level: f64,
}

fn effort(input: &Effort) -> Answer {
    let level = Level::new(input.level).map_err(text)?;
    let tells = what_effort_tells(&input.units, input.mean, input.model.scatter(), level).map_err(text)?;
    serde_json::to_value(tells).map_err(text)
}

#[derive(Deserialize)]
struct Line {
    #[serde(flatten)]
    model: Model,
    units: u32,
    error: f64,
}

fn stop_line(input: &Line) -> Answer {
    match input.model.scatter() {
        Scatter::Taylor(law) => Ok(json!(green_line(input.units, law, input.error).map_err(text)?)),
        Scatter::Iwao(line) => Ok(json!(kuno_line(input.units, line, input.error).map_err(text)?)),
        Scatter::Poisson | Scatter::NegativeBinomial { .. } => {
            Err("a stop line needs a and b, or alpha and beta".to_owned())
        }
    }
}

#[derive(Deserialize)]
struct Sequential {
    k: f64,
    means: (f64, f64),
    chances: (f64, f64),
    units: u32,
    total: u64,
    true_mean: Option<f64>,
    runs: Option<u32>,
}

fn sequential_test(input: &Sequential) -> Answer {
    let test = SequentialTest::new(input.k, input.means, input.chances).map_err(text)?;
    let simulation = Simulation { runs: input.runs.unwrap_or(2_000), seed: 1, at_least: 1, at_most: 500 };
    let operating = input
        .true_mean
        .map(|mean| test.operating((mean, input.k), simulation, &mut go_on))
        .transpose()
        .map_err(text)?;
    Ok(json!({
        "slope": test.slope(),
        "lines": test.lines(input.units),
        "ratio": test.log_likelihood_ratio(input.units, input.total),
        "decision": test.decide(input.units, input.total),
        "operating": operating,
    }))
}

#[derive(Deserialize)]
struct Sun {
    at: Pin,
    date: Option<Date>,
    moment: Option<String>,
    julian: Option<f64>,
}

fn sun(input: &Sun) -> Answer {
    if let Some(day) = input.julian {
        return Ok(json!({"position": solar_position(day), "equation_of_time": equation_of_time(day)}));
    }
    if let Some(date) = input.date {
        return serde_json::to_value(sun_day(input.at, date).map_err(text)?).map_err(text);
    }
    let moment = input.moment.as_ref().ok_or("a date or a moment is missing")?.parse().map_err(text)?;
    serde_json::to_value(sun_at(input.at, moment).map_err(text)?).map_err(text)
}

#[derive(Deserialize)]
struct Hot {
    celsius: f64,
    humidity: f64,
}

fn heat(input: &Hot) -> Answer {
    serde_json::to_value(heat_index(Celsius(input.celsius), input.humidity).map_err(text)?).map_err(text)
}

#[derive(Deserialize)]
struct Ground {
    from: Option<Pin>,
    to: Option<Pin>,
    leaves: Option<f64>,
    metres: Option<f64>,
    ring: Option<Vec<Pin>>,
    area: Option<Area>,
}

fn ground(input: &Ground) -> Answer {
    match (&input.ring, &input.area, input.from, input.to, input.leaves, input.metres) {
        (Some(corners), ..) => serde_json::to_value(ring(corners)).map_err(text),
        (_, Some(area), ..) => Ok(json!({"square_metres": area.square_metres(), "metres": area.perimeter_m()})),
        (_, _, Some(from), Some(to), ..) => serde_json::to_value(inverse(from, to, Ellipsoid::Wgs84)).map_err(text),
        (_, _, Some(from), None, Some(leaves), Some(metres)) => {
            serde_json::to_value(direct(from, leaves, metres).map_err(text)?).map_err(text)
        }
        _ => Err("a ring, an area, two points, or a point with a direction and a length".to_owned()),
    }
}
