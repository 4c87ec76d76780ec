//! `leafturn season` as a process: every example of every topic, what is refused with its exit code, and ctrl-c.

use serde::Deserialize;
use serde_json::Value;
use std::collections::BTreeMap;
use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::process::{Command, Output, Stdio};

#[derive(Deserialize)]
struct Topic {
    examples: Vec<Example>,
}

#[derive(Deserialize)]
struct Example {
    options: String,
    file: Option<String>,
    second: Option<String>,
}

fn topics() -> BTreeMap<String, Topic> {
    toml::from_str(include_str!("../src/command/season/topics.toml")).unwrap()
}

fn season(arguments: &[String]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_leafturn"));
    command.arg("season").args(arguments);
    command
}

fn run(arguments: &[String]) -> Output {
    season(arguments).output().unwrap()
}

/// The words of a line, `FILE`, `FILE2` and figures standing in a folder.
fn words(line: &str, folder: &Path) -> Vec<String> {
    let within = |name: &str| folder.join(name).display().to_string();
    line.split_whitespace()
        .map(|word| match word {
            "FILE" | "FILE2" => within(word),
            figure if is_figure(figure) => within(figure),
            other => other.to_owned(),
        })
        .collect()
}

fn is_figure(word: &str) -> bool {
    Path::new(word).extension().is_some_and(|ending| ending == "svg")
}

#[test]
fn every_example_runs_as_a_process() {
    let listed = String::from_utf8(run(&["--list".to_owned()]).stdout).unwrap();
    let topics = topics();
    assert_eq!(listed.lines().count(), topics.len());
    for (topic, own) in &topics {
        assert!(listed.lines().any(|line| line.starts_with(&format!("{topic} "))), "{listed}");
        for example in &own.examples {
            let folder = tempfile::tempdir().unwrap();
            for (name, text) in [("FILE", &example.file), ("FILE2", &example.second)] {
                std::fs::write(folder.path().join(name), text.as_deref().unwrap_or_default().trim_start()).unwrap();
            }
            let mut arguments = vec![topic.clone()];
            arguments.extend(words(&example.options, folder.path()));
            arguments.push("--json".to_owned());
            let done = run(&arguments);
            let (out, error) = (String::from_utf8(done.stdout).unwrap(), String::from_utf8(done.stderr).unwrap());
            assert!(done.status.success() && error.is_empty(), "{arguments:?}: {error}");
            let answer: Value = serde_json::from_str(&out).unwrap();
            assert!(answer.as_object().is_some_and(|fields| !fields.is_empty()), "{arguments:?}");
            for figure in arguments.iter().filter(|word| is_figure(word)) {
                let drawn = std::fs::read_to_string(figure).unwrap();
                assert!(drawn.starts_with("<svg") && drawn.contains("<desc"), "{figure}");
            }
        }
    }
}

/// Words, text of standard input, exit code, and what standard error must hold.
const REFUSED: &[(&str, &str, i32, &str)] = &[
    ("density -", "", 1, "standard input, line 1, column 1: the file is empty"),
    ("density -", "count\n-1\n", 1, "line 2, column 1: count: -1 is below 0"),
    ("density -", "count\n2\n0.5\n", 1, "line 3, column 1: count: 0.5 is not whole"),
    ("density -", "count\nNaN\n", 1, "line 2, column 1: count: NaN is no finite number"),
    ("degree-days -", "date,tmin,tmax\n2026-06-01,NaN,9\n", 1, "line 2, column 12: tmin: NaN is no finite number"),
    ("degree-days -", "date,tmin,tmax\n2026-06-01,1,9\n2026-06-01,2,8\n", 1, "2026-06-01 stands there twice"),
    ("degree-days -", "date,tmin,tmax\n2026-06-01,60,88\n2026-06-02,62,91\n", 1, "look like degrees Fahrenheit"),
    ("degree-days -", "date,tmin,tmax\n2026-06-01,20,10\n", 1, "the lowest temperature 20 is above the highest 10"),
    ("density no-such-file.csv", "", 3, "no-such-file.csv"),
    (
        "density -",
        "count,undecided:egg+none,cluster\n1,1,a\n0,0,b\n",
        1,
        "columns of undecided things go with plain counts",
    ),
    ("density -", "count,undecided:larva1+larva2\n1,1\n0,0\n", 2, "--stage STAGE is needed"),
    ("aggregation -", "count,undecided:egg+none\n1,1\n0,0\n", 1, "this question takes decided counts alone"),
    (
        "passage -",
        "plant,day,count\na,1,2\na,1,3\n",
        1,
        "line 3, column 1: plant: this plant has two rows for one visit",
    ),
    ("stop-line --true-means 0.5 --a 1 --b 1", "", 2, "--true-means goes with --means"),
    ("density - --resamples 99", "count\n1\n", 2, "--resamples"),
    ("no-such-topic", "", 2, "unrecognized subcommand"),
];

#[test]
fn what_is_refused_has_its_exit_code_and_its_place() {
    for (line, input, code, wanted) in REFUSED {
        let arguments: Vec<String> = line.split_whitespace().map(str::to_owned).collect();
        let mut child =
            season(&arguments).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        // A process that reads nothing may be gone before this is written.
        let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
        let done = child.wait_with_output().unwrap();
        let error = String::from_utf8(done.stderr).unwrap();
        assert_eq!(done.status.code(), Some(*code), "{line}: {error}");
        assert!(error.contains(wanted) && done.stdout.is_empty(), "{line}: {error}");
    }
}

/// Ctrl-c while resamples are drawn: what was computed is printed, what was not says that it was stopped, and the process
/// ends of itself. The signal is sent once the process has told of its first resamples, of which there are too many to be
/// done by then on any machine.
#[cfg(unix)]
#[test]
fn ctrl_c_ends_the_work_and_keeps_what_was_computed() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("FILE"), "count\n0\n2\n1\n0\n4\n3\n").unwrap();
    for (line, computed) in [
        ("density FILE --resamples 4000000000 --progress always", true),
        ("compare FILE --resamples 4000000000 --progress always", false),
    ] {
        if !computed {
            let rows = "count,checked,side\n4,20,a\n9,20,b\n6,20,a\n14,20,b\n3,20,a\n11,20,b\n";
            std::fs::write(folder.path().join("FILE"), rows).unwrap();
        }
        let mut child =
            season(&words(line, folder.path())).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let mut errors = BufReader::new(child.stderr.take().unwrap());
        let mut first = String::new();
        errors.read_line(&mut first).unwrap();
        assert_eq!(first.trim_end(), "100 of 4,000,000,000");
        let killed = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
        assert!(killed.success());
        let mut rest = String::new();
        std::io::Read::read_to_string(&mut errors, &mut rest).unwrap();
        let done = child.wait_with_output().unwrap();
        let out = String::from_utf8(done.stdout).unwrap();
        assert_eq!(done.status.code(), Some(3), "{rest}");
        assert!(rest.contains("leafturn: Stopped"), "{rest}");
        assert_eq!(!out.is_empty(), computed, "{out}");
        if computed {
            assert!(out.contains("per plant, by t interval") && out.contains("work was stopped"), "{out}");
        }
    }
}
