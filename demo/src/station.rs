//! A real station: the `leafturn` program as a process of its own.

use crate::Trouble;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use survey::ids::SiteId;

/// A running station. It is stopped when this is dropped.
#[derive(Debug)]
pub struct Station {
    /// Its address, such as `http://127.0.0.1:40123`.
    pub address: String,
    program: PathBuf,
    data: PathBuf,
    process: Child,
}

#[derive(Deserialize)]
struct Ready {
    listening: String,
}

#[derive(Deserialize)]
struct Invitation {
    code: String,
}

#[derive(Deserialize)]
struct SignIn {
    link: String,
}

impl Station {
    /// Starts `program serve` on a free port of loopback, its data in `data`, its log in `log`.
    ///
    /// # Errors
    /// The process does not start, or does not say that it is ready.
    pub fn start(program: &Path, data: &Path, log: &Path) -> Result<Self, Trouble> {
        let mut process = Command::new(program)
            .args(["serve", "--json", "--listen", "127.0.0.1:0", "--data"])
            .arg(data)
            .stdout(Stdio::piped())
            .stderr(File::create(log)?)
            .spawn()?;
        let mut ready = String::new();
        if let Some(out) = process.stdout.take() {
            BufReader::new(out).read_line(&mut ready)?;
        }
        if let Ok(ready) = serde_json::from_str::<Ready>(&ready) {
            return Ok(Self { address: ready.listening, program: program.into(), data: data.into(), process });
        }
        process.kill()?;
        process.wait()?;
        Err(Trouble::Station { what: "serve".into(), said: std::fs::read_to_string(log)? })
    }

    /// A join code for one phone, called so at the station, that may read these sites.
    ///
    /// # Errors
    /// The command fails.
    pub fn invite(&self, name: &str, sites: &[SiteId]) -> Result<String, Trouble> {
        let mut arguments = vec!["invite".to_owned(), "--json".to_owned(), format!("--name={name}")];
        arguments.extend(sites.iter().map(|site| format!("--site={site}")));
        Ok(self.json::<Invitation>(&arguments)?.code)
    }

    /// A one-time sign-in link for a coordinator.
    ///
    /// # Errors
    /// The command fails.
    pub fn coordinator(&self, name: &str) -> Result<String, Trouble> {
        Ok(self.json::<SignIn>(&["coordinator".into(), "add".into(), "--json".into(), name.into()])?.link)
    }

    /// Writes the report of all sites into `out` and returns what the command prints.
    ///
    /// # Errors
    /// The command fails.
    pub fn report(&self, out: &Path) -> Result<String, Trouble> {
        self.run(&["report".into(), "--all".into(), "--out".into(), out.display().to_string()])
    }

    /// Verifies every chain and figure of the station; what the command prints.
    ///
    /// # Errors
    /// The command fails, or finds something wrong.
    pub fn check(&self) -> Result<String, Trouble> {
        self.run(&["check".into()])
    }

    /// The station's own description of its interface.
    ///
    /// # Errors
    /// The station does not answer.
    pub fn openapi(&self) -> Result<String, Trouble> {
        let mut reply = ureq::get(format!("{}/v1/openapi.json", self.address)).call()?;
        Ok(reply.body_mut().read_to_string()?)
    }

    /// The SQLite file of the station.
    pub fn database(&self) -> PathBuf {
        self.data.join("station.sqlite")
    }

    /// Number of the process.
    pub fn process(&self) -> u32 {
        self.process.id()
    }

    /// Waits until the process ends.
    ///
    /// # Errors
    /// The process cannot be waited for.
    pub fn wait(mut self) -> Result<(), Trouble> {
        self.process.wait()?;
        Ok(())
    }

    fn json<T: DeserializeOwned>(&self, arguments: &[String]) -> Result<T, Trouble> {
        Ok(serde_json::from_str(&self.run(arguments)?)?)
    }

    fn run(&self, arguments: &[String]) -> Result<String, Trouble> {
        let output = Command::new(&self.program).args(arguments).arg("--data").arg(&self.data).output()?;
        let said = |octets: Vec<u8>| String::from_utf8_lossy(&octets).into_owned();
        if output.status.success() {
            return Ok(said(output.stdout));
        }
        let said = said(output.stdout) + &said(output.stderr);
        Err(Trouble::Station { what: arguments.join(" "), said })
    }
}

impl Drop for Station {
    fn drop(&mut self) {
        // A station that has ended by itself is as good as one that was stopped.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}
