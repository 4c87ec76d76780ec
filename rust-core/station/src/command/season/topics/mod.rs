//! The topics, one file per group.

pub(super) mod effort;
pub(super) mod observers;
pub(super) mod passage;
pub(super) mod plants;
pub(super) mod sky;
pub(super) mod tell;
pub(super) mod warmth;
pub(super) mod years;

/// What every topic does with its shared options.
macro_rules! ask {
    ($topic:ty, $name:literal, $answer:path) => {
        impl crate::command::season::Ask for $topic {
            fn topic(&self) -> &'static str {
                $name
            }

            fn common(&self) -> &crate::command::season::common::Common {
                &self.common
            }

            fn answer(&self) -> Result<crate::command::season::answer::Answer, crate::command::CommandError> {
                $answer(self)
            }
        }
    };
}
pub(super) use ask;
