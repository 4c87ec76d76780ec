//! The forms that season questions are asked in: tables as CSV or JSON, matrices, small JSON, places as `GeoJSON`.

mod csv;
mod forms;
mod matrix;
mod places;
mod small;
mod source;
mod table;
mod tagged;

pub(super) use forms::asked_weather;
pub(super) use forms::{Numbers, PlantCounts, Series, Year, belts, years};
pub(super) use matrix::{counted, whole_matrix};
pub(super) use places::shapes;
pub(super) use small::small;
pub(super) use source::Source;
pub(super) use table::{Columns, Table};
pub(super) use tagged::TaggedPlants;
