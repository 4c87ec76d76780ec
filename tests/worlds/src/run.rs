//! Worlds by their seeds, and what is left of one that failed when everything needless is taken out.

use crate::coverage::Coverage;
use crate::end::Ending;
use crate::step::{Step, below};
use crate::trouble::Trouble;
use crate::world::World;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use sync::engine::Dice;
use tokio::runtime::Runtime;

/// A world as data: everything follows from it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// The seed.
    pub seed: u64,
    /// Phones at the beginning.
    pub phones: u64,
    /// The steps.
    pub steps: Vec<Step>,
}

/// A world that failed.
#[derive(Debug, Clone)]
pub struct Failure {
    /// The world.
    pub plan: Plan,
    /// Why.
    pub trouble: Trouble,
}

/// Runs worlds in a folder, one after the other.
pub struct Stage<'f> {
    folder: &'f Path,
    runtime: Runtime,
    played: u64,
}

impl Plan {
    /// The world of a seed.
    pub fn of(seed: u64) -> Self {
        let mut dice = Dice::new(seed);
        let phones = 1 + below(&mut dice, 3);
        Self { seed, phones, steps: Step::draw_all(&mut dice) }
    }
}

impl std::fmt::Display for Plan {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let steps: Vec<String> = self.steps.iter().map(ToString::to_string).collect();
        write!(f, "--seed {} --phones {} --steps {}", self.seed, self.phones, steps.join(","))
    }
}

impl<'f> Stage<'f> {
    /// A stage in this folder, best one in memory.
    ///
    /// # Errors
    /// No runtime can be made.
    pub fn new(folder: &'f Path) -> Result<Self, Trouble> {
        // Handlers are run where they are called from, and one thread beside waits for the disk.
        let runtime = tokio::runtime::Builder::new_current_thread().enable_time().max_blocking_threads(2).build()?;
        Ok(Self { folder, runtime, played: 0 })
    }

    /// Plays a world to its end. What it saw goes to `coverage` also where it failed.
    ///
    /// # Errors
    /// Whatever must not be.
    pub fn play(&mut self, plan: &Plan, coverage: &mut Coverage) -> Result<Ending, Trouble> {
        self.played += 1;
        let folder = self.folder.join(format!("world-{}", self.played));
        let played = catch_unwind(AssertUnwindSafe(|| {
            let mut world = World::new(&folder, plan.seed, plan.phones, &self.runtime)?;
            let done = plan.steps.iter().try_for_each(|step| {
                world.play(*step).map_err(|trouble| Trouble::new(format!("at {step}: {trouble}")))
            });
            let done = done.and_then(|()| world.end(&mut Dice::new(plan.seed ^ 0xE2D)));
            coverage.add(&world.coverage);
            done
        }));
        // A folder that cannot be removed is only in the way.
        let _ = std::fs::remove_dir_all(&folder);
        played.unwrap_or_else(|panic| {
            let said = panic
                .downcast_ref::<String>()
                .cloned()
                .or_else(|| panic.downcast_ref::<&str>().map(|said| (*said).to_owned()));
            Err(Trouble::new(format!("a panic: {}", said.unwrap_or_default())))
        })
    }

    /// The least that still fails, by taking steps out in ever smaller runs.
    pub fn shrink(&mut self, failure: Failure) -> Failure {
        let mut least = failure;
        let mut run = (least.plan.steps.len() / 2).max(1);
        loop {
            let mut at = 0;
            let mut smaller = false;
            while at < least.plan.steps.len() {
                let mut steps = least.plan.steps.clone();
                steps.drain(at..(at + run).min(steps.len()));
                let plan = Plan { steps, ..least.plan.clone() };
                match self.play(&plan, &mut Coverage::default()) {
                    Err(trouble) if trouble.kind() == least.trouble.kind() => {
                        least = Failure { plan, trouble };
                        smaller = true;
                    }
                    Err(_) | Ok(_) => at += run,
                }
            }
            if run == 1 && !smaller {
                return least;
            }
            run = (run / 2).max(1);
        }
    }
}
