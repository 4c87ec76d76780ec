//! What is recorded for what, from audits.

use super::id;
use crate::numeric::none_negative;
use crate::{MessageId, Refusal};
use serde::Serialize;

/// A recorded class needs as many audited animals before it is corrected.
pub const FEWEST_AUDITS: u64 = 30;

/// One audited thing. Classes are numbered; true classes are the rows (all stages, not a monarch), recorded classes the
/// columns (all stages, larva not judged, each undecided set).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Audit {
    /// What the coordinator judged it to be, without seeing the record; `None` where the photo could not be judged.
    pub truth: Option<usize>,
    /// What the observer recorded.
    pub recorded: usize,
    /// 1 ÷ the chance with which it was picked for the audit.
    pub weight: f64,
}

/// How often each true class is recorded as what.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Confusion {
    /// True class by recorded class; rows sum to 1.
    pub rows: Vec<Vec<f64>>,
    /// Parameters of the Dirichlet distribution that says how sure each row is.
    pub dirichlet: Vec<Vec<f64>>,
    /// Audited things with a judgement.
    pub judged: u64,
    /// Photos that could not be judged.
    pub not_judged: u64,
    /// Whose audits it rests on.
    pub from: ConfusionFrom,
    /// What was taken for true without being known.
    pub assumed: Vec<MessageId>,
}

/// Whose audits a matrix rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ConfusionFrom {
    /// The observer's own.
    Own,
    /// Those of all observers, the own ones being too few.
    Pooled,
}

/// Matrix of true against recorded classes from an observer's audits, or from those of all observers where a class that
/// was recorded has fewer than [`FEWEST_AUDITS`] own ones.
///
/// Weighted counts are scaled so that they sum to the number judged; each true row gets a Dirichlet prior of total
/// weight 1 spread evenly over its cells. A true class without any audit is taken as recorded rightly, and said so.
/// `recorded` says how many things of each recorded class are to be corrected: only those classes need audits.
///
/// Unit: shares. Domain: weights above 0; classes within the stated numbers. It sees false records only; animals that
/// were missed come from double counts.
///
/// Source: calibration as in Hoenig JM, Heisey DM (1987) Trans. Am. Fish. Soc. 116:232-243; the least number of audits
/// is this project's own rule.
///
/// # Errors
/// [`Refusal::NotMet`] where the pooled audits are too few as well; [`Refusal::NotANumber`] for classes or weights out
/// of range.
pub fn confusion(own: &[Audit], pooled: &[Audit], true_classes: usize, recorded: &[u64]) -> Result<Confusion, Refusal> {
    let columns = recorded.len();
    for audit in own.iter().chain(pooled) {
        let inside = audit.recorded < columns && audit.truth.is_none_or(|truth| truth < true_classes);
        if !(inside && audit.weight.is_finite() && audit.weight > 0.0) {
            return Err(Refusal::NotANumber);
        }
    }
    let enough = |audits: &[Audit]| {
        (0..columns).all(|class| {
            let judged = audits.iter().filter(|audit| audit.recorded == class && audit.truth.is_some()).count() as u64;
            recorded[class] == 0 || judged >= FEWEST_AUDITS
        })
    };
    let (audits, from) = if enough(own) {
        (own, ConfusionFrom::Own)
    } else if enough(pooled) {
        (pooled, ConfusionFrom::Pooled)
    } else {
        return Err(Refusal::NotMet(id::REFUSED_AUDITS_TOO_FEW));
    };
    build(audits, from, true_classes, columns)
}

fn build(audits: &[Audit], from: ConfusionFrom, rows: usize, columns: usize) -> Result<Confusion, Refusal> {
    let mut counts = vec![vec![0.0; columns]; rows];
    let mut judged = 0_u64;
    for audit in audits {
        if let Some(truth) = audit.truth {
            counts[truth][audit.recorded] += audit.weight;
            judged += 1;
        }
    }
    let weight: f64 = counts.iter().flatten().sum();
    if weight <= 0.0 {
        return Err(Refusal::Nothing);
    }
    none_negative([&weight])?;
    let mut assumed = vec![id::ASSUMED_AUDIT_IS_REPRESENTATIVE, id::ASSUMED_FALSE_RECORDS_ONLY];
    if from == ConfusionFrom::Pooled {
        assumed.push(id::ASSUMED_AUDITS_POOLED);
    }
    let dirichlet: Vec<Vec<f64>> = counts
        .iter()
        .enumerate()
        .map(|(truth, row)| {
            let seen = row.iter().sum::<f64>() > 0.0;
            row.iter()
                .enumerate()
                .map(|(class, count)| match seen {
                    true => count * judged as f64 / weight + 1.0 / columns as f64,
                    false if class == truth => 1.0,
                    false => 0.0,
                })
                .collect()
        })
        .collect();
    if counts.iter().any(|row| row.iter().sum::<f64>() <= 0.0) {
        assumed.push(id::ASSUMED_CLASS_NOT_AUDITED);
    }
    let shares = dirichlet
        .iter()
        .map(|row| {
            let whole: f64 = row.iter().sum();
            row.iter().map(|value| if whole > 0.0 { value / whole } else { 0.0 }).collect()
        })
        .collect();
    let not_judged = audits.iter().filter(|audit| audit.truth.is_none()).count() as u64;
    Ok(Confusion { rows: shares, dirichlet, judged, not_judged, from, assumed })
}
