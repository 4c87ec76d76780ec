//! Degree-days, the stage clock, sampling, sun, heat and ground. `None` where the topic is of another part.

use serde_json::Value;

pub(crate) fn answer(topic: &str, input: &Value) -> Option<Result<Value, String>> {
    let _ = (topic, input);
    None
}
