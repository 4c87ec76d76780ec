//! What keeps strangers out: join codes, tokens, sessions, host names, limits, certificates. No store and no HTTP in here.

pub mod codes;
pub mod hosts;
pub mod key;
pub mod limits;
pub mod origin;
pub mod secret;
pub mod tls;
