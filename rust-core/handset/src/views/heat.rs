//! How hot it feels, for the caution before going out.

use super::message::Message;
use crate::acts::{Units, typed_number};
use crate::error::HandsetError;
use crate::object::Handset;
use season::degree_days::Celsius;
use season::sky::heat_index;
use serde::Serialize;

/// The heat index, in the shade with light wind.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HeatView {
    /// In degrees of the units.
    pub index: f64,
    /// The units of the settings.
    pub units: Units,
    /// What to make of it.
    pub category: Message,
    /// What was assumed.
    pub notes: Vec<Message>,
}

impl Handset {
    /// How hot an air temperature, typed in the unit of the settings, feels at a relative humidity in percent.
    ///
    /// # Errors
    /// `number-out-of-range`; storage.
    pub fn heat(&self, air: &str, humidity: &str) -> Result<HeatView, HandsetError> {
        let units = self.settings()?.units;
        let refused = |typed: &str| HandsetError::number_out_of_range(typed);
        let tenths = units.air(air)?.ok_or_else(|| refused(air))?;
        let humid = typed_number(humidity)?.ok_or_else(|| refused(humidity))?;
        let felt = heat_index(Celsius(f64::from(tenths) / 10.0), humid).map_err(|_| refused(humidity))?;
        let index = match units {
            Units::Metric => felt.celsius.0,
            Units::Imperial => felt.fahrenheit.0,
        };
        let notes = felt.assumed.iter().map(|id| Message::new(id.name())).collect();
        Ok(HeatView { index, units, category: Message::new(felt.category.message().name()), notes })
    }
}
