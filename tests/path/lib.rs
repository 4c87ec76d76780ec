//! What the end-to-end tests share: the real station program, a phone, and a folder that goes away.

use demo::Trouble;
use demo::person::Person;
use demo::scenario::Phone;
use demo::station::Station;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;
use tempfile::TempDir;

/// A folder for one test.
///
/// # Errors
/// There is no room for it.
pub fn folder() -> std::io::Result<TempDir> {
    tempfile::tempdir()
}

/// The `leafturn` program of this build; built where it is not there yet.
pub fn leafturn() -> PathBuf {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    PROGRAM.get_or_init(build).clone()
}

/// A station whose data lie in `folder`.
///
/// # Errors
/// It does not start.
pub fn station(folder: &Path) -> Result<Station, Trouble> {
    Station::start(&leafturn(), &folder.join("station"), &folder.join("station.log"))
}

/// A person whose phone lies in `folder`.
///
/// # Errors
/// Those of the handset.
pub fn person(folder: &Path, phone: Phone) -> Result<Person, Trouble> {
    let own = folder.join(format!("{phone:?}"));
    std::fs::create_dir_all(&own)?;
    Person::with_phone(phone, &own, "A tester")
}

/// A coordinator with a browser.
#[derive(Debug)]
pub struct Coordinator {
    address: String,
    cookie: String,
    agent: ureq::Agent,
}

impl Coordinator {
    /// Spends a sign-in link.
    ///
    /// # Errors
    /// The station does not answer, or does not take the link.
    pub fn sign_in(link: &str) -> Result<Self, Trouble> {
        let address = link.split("/sign-in/").next().unwrap_or_default().to_owned();
        let config = ureq::Agent::config_builder().http_status_as_error(true).max_redirects(0).build();
        let agent = ureq::Agent::new_with_config(config);
        let answer = agent.post(link).header("origin", &address).send_empty()?;
        let cookie = answer.headers().get("set-cookie").and_then(|cookie| cookie.to_str().ok());
        let cookie = cookie.and_then(|cookie| cookie.split(';').next()).unwrap_or_default().to_owned();
        Ok(Self { address, cookie, agent })
    }

    /// Looks at a page.
    ///
    /// # Errors
    /// The station refuses.
    pub fn get(&self, path: &str) -> Result<String, Trouble> {
        let mut answer = self.agent.get(format!("{}{path}", self.address)).header("cookie", &self.cookie).call()?;
        Ok(answer.body_mut().read_to_string()?)
    }

    /// Sends a form of a page, with the token that stands in it.
    ///
    /// # Errors
    /// The station refuses.
    pub fn post(&self, path: &str, page: &str, fields: &[(&str, &str)]) -> Result<(), Trouble> {
        let token = page.split("name=\"form_token\" value=\"").nth(1).and_then(|rest| rest.split('"').next());
        let fields = fields.iter().copied().chain([("form_token", token.unwrap_or_default())]);
        let url = format!("{}{path}", self.address);
        let request = self.agent.post(url).header("cookie", &self.cookie).header("origin", &self.address);
        request.send_form(fields)?;
        Ok(())
    }
}

fn build() -> PathBuf {
    let built =
        Command::new(env!("CARGO")).args(["build", "--quiet", "--locked", "--workspace", "--bin", "leafturn"]).status();
    assert!(built.is_ok_and(|status| status.success()), "the station does not build");
    let own = std::env::current_exe().expect("a test has a path");
    let folder = own.parent().and_then(Path::parent).expect("tests lie two folders below the programs");
    folder.join("leafturn")
}
