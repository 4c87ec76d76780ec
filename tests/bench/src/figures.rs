//! Middles, tails and what the machine was doing.

use std::time::{Duration, Instant};

/// Runs something and says how long it took.
///
/// # Errors
/// Those of what is run.
#[expect(clippy::disallowed_methods, reason = "it measures")]
pub fn timed<T, E>(what: impl FnOnce() -> Result<T, E>) -> Result<(T, Duration), E> {
    let begun = Instant::now();
    let done = what()?;
    Ok((done, begun.elapsed()))
}

/// The value below which such a share of all lies, 0 to 1; 0 of none.
pub fn quantile(mut values: Vec<f64>, share: f64) -> f64 {
    values.sort_unstable_by(f64::total_cmp);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a place in a list")]
    let at = (share * values.len() as f64) as usize;
    values.get(at.min(values.len().saturating_sub(1))).copied().unwrap_or(0.0)
}

/// The middle one.
pub fn median(values: Vec<f64>) -> f64 {
    quantile(values, 0.5)
}

/// Milliseconds of a duration.
pub fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1e3
}

/// The mean number of processes that wanted the processor in the last minute; empty where the system does not say.
pub fn load() -> String {
    std::fs::read_to_string("/proc/loadavg")
        .ok()
        .and_then(|text| text.split_whitespace().next().map(str::to_owned))
        .unwrap_or_default()
}

/// The most memory that a process has had resident, in MiB; `None` where the system does not say.
pub fn most_memory_mib(process: u32) -> Option<f64> {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    Some(line.split_whitespace().nth(1)?.parse::<f64>().ok()? / 1024.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_are_members_of_the_list() {
        let list = || (1..=100).map(f64::from).rev().collect::<Vec<_>>();
        assert_eq!((median(list()), quantile(list(), 0.99), quantile(list(), 1.0)), (51.0, 100.0, 100.0));
        assert_eq!((median(vec![4.0]), median(Vec::new())), (4.0, 0.0));
    }
}
