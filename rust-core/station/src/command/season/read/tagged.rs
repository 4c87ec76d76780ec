//! Tagged plants, the same ones at each visit.

use super::source::Source;
use super::table::{Columns, Table};
use crate::command::season::fault::SeasonFault;
use chrono::Datelike as _;
use std::collections::BTreeMap;

/// Counts of tagged plants.
#[derive(Debug)]
pub(in crate::command::season) struct TaggedPlants {
    /// Days of the visits, in order; the first is day 1 where the file has dates.
    pub(in crate::command::season) days: Vec<f64>,
    /// A plant each, with a count per visit; `None` where it was not found or not checked.
    pub(in crate::command::season) plants: Vec<Vec<Option<u32>>>,
}

impl TaggedPlants {
    /// `plant`, `day` or `date`, `count`, a row for each plant and visit, in any order.
    pub(in crate::command::season) fn read(source: &Source) -> Result<Self, SeasonFault> {
        let columns = Columns { needed: &["plant", "count"], allowed: &["day", "date"], beginning: None };
        let table = Table::read(source, columns)?;
        let dated = match (table.has("date"), table.has("day")) {
            (true, false) => true,
            (false, true) => false,
            _ => return Err(source.fault_of_all("either a column day or a column date")),
        };
        let mut visits = Vec::new();
        let mut rows = Vec::new();
        for row in table.rows() {
            let day = if dated { f64::from(row.date("date")?.naive().num_days_from_ce()) } else { row.number("day")? };
            visits.push(day);
            rows.push((row, row.needed("plant")?.to_owned(), day, row.count_if("count")?));
        }
        visits.sort_by(f64::total_cmp);
        visits.dedup();
        let mut plants: BTreeMap<String, Vec<Option<Option<u32>>>> = BTreeMap::new();
        for (row, plant, day, count) in rows {
            let visit = visits.partition_point(|&own| own < day);
            let counts = plants.entry(plant).or_insert_with(|| vec![None; visits.len()]);
            if counts[visit].replace(count).is_some() {
                return Err(row.fault("plant", "this plant has two rows for one visit"));
            }
        }
        let first = visits[0];
        Ok(Self {
            days: visits.iter().map(|day| if dated { day - first + 1.0 } else { *day }).collect(),
            plants: plants.into_values().map(|counts| counts.into_iter().map(Option::flatten).collect()).collect(),
        })
    }
}
