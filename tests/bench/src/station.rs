//! A station process on loopback with phones that have joined.

use crate::Failure;
use crate::dice::Dice;
use serde_json::Value;
use station::command::Folder;
use station::security::codes::Code;
use station::security::secret::SecretHash;
use station::store::AccessStore;
use station::store::access::{Invitation, Invited, Joining, Redeemed};
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use survey::ids::DeviceId;
use survey::time::UnixMs;

/// A `leafturn serve` process.
#[derive(Debug)]
pub struct Station {
    process: Child,
    program: PathBuf,
    folder: PathBuf,
    /// `http://127.0.0.1:PORT`.
    pub address: String,
}

/// A token for each phone, after making the folder and letting them join: each by an invitation of its own, as the
/// command and the enrolment would write it.
///
/// # Errors
/// Those of the store.
pub fn join(folder: &Path, devices: &[DeviceId]) -> Result<Vec<String>, Failure> {
    let opened = Folder::open(folder)?;
    let mut dice = Dice::new(4711);
    let at = UnixMs(1_790_000_000_000);
    devices
        .iter()
        .map(|&device| {
            let token =
                format!("{:032x}{:032x}", u128::from_be_bytes(dice.octets()), u128::from_be_bytes(dice.octets()));
            loop {
                let Some(code) = draw(&mut dice) else { continue };
                let (digest, prefix) = (code.digest(&[1; 32]), code.prefix());
                let (sites, expires) = (Vec::new(), UnixMs(at.0 + 60_000));
                let invitation = Invitation { digest, prefix, sites, name: None, made: at, expires };
                if opened.store.invite(&invitation)? == Invited::PrefixTaken {
                    continue;
                }
                let joining = Joining { digest, prefix, device, token: SecretHash::of_token(&token), at };
                return match opened.store.redeem(&joining)? {
                    Redeemed::Joined { .. } => Ok(token),
                    other => Err(format!("a phone could not join: {other:?}").into()),
                };
            }
        })
        .collect()
}

fn draw(dice: &mut Dice) -> Option<Code> {
    let mut random = [0; 64];
    for chunk in random.chunks_mut(16) {
        chunk.copy_from_slice(&dice.octets());
    }
    Code::draw(&random)
}

impl Station {
    /// Starts one on loopback and waits until it listens. `program` is the `leafturn` binary.
    ///
    /// # Errors
    /// Where it does not start.
    pub fn start(program: &Path, folder: &Path) -> Result<Self, Failure> {
        let mut process = Command::new(program)
            .args(["serve", "--listen", "127.0.0.1:0", "--json", "--log", "error", "--data"])
            .arg(folder)
            .stdout(Stdio::piped())
            .spawn()?;
        let mut line = String::new();
        BufReader::new(process.stdout.take().ok_or("no standard output")?).read_line(&mut line)?;
        let ready: Value = serde_json::from_str(&line)?;
        let address = ready["listening"].as_str().ok_or("the ready line names no address")?.to_owned();
        Ok(Self { process, program: program.to_owned(), folder: folder.to_owned(), address })
    }

    /// Its process.
    pub fn process(&self) -> u32 {
        self.process.id()
    }

    /// Asks it to stop and waits for that.
    ///
    /// # Errors
    /// Where it ends otherwise than well.
    pub fn stop(mut self) -> Result<(), Failure> {
        Command::new("kill").arg(self.process.id().to_string()).status()?;
        let ended = self.process.wait()?;
        if ended.success() { Ok(()) } else { Err(format!("the station ended with {ended}").into()) }
    }

    /// What `leafturn check --json` says, beside the serving station.
    ///
    /// # Errors
    /// Where it says nothing.
    pub fn check(&self) -> Result<Value, Failure> {
        check(&self.program, &self.folder)
    }
}

/// What `leafturn check --json` says of a folder.
///
/// # Errors
/// Where it says nothing.
pub fn check(program: &Path, folder: &Path) -> Result<Value, Failure> {
    let output = Command::new(program).args(["check", "--json", "--data"]).arg(folder).output()?;
    Ok(serde_json::from_slice(&output.stdout)?)
}

impl Drop for Station {
    fn drop(&mut self) {
        // Ended already where it was stopped.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}
