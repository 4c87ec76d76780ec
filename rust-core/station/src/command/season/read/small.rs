//! Small inputs as JSON with named fields.

use super::source::Source;
use crate::command::season::fault::SeasonFault;
use serde::de::DeserializeOwned;

/// The value of a text; the type refuses fields that it does not know.
pub(in crate::command::season) fn small<T: DeserializeOwned>(source: &Source) -> Result<T, SeasonFault> {
    serde_json::from_str(source.text()).map_err(|error| source.no_json(&error))
}
