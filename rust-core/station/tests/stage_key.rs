//! `leafturn key`, `practice` and `draw`, as a person and as a script uses them.

use serde_json::Value;
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Output, Stdio};

fn leafturn(arguments: &[&str], input: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_leafturn"))
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A command that refuses its arguments may be gone before it reads.
    let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
    child.wait_with_output().unwrap()
}

fn text(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).unwrap_or_else(|error| panic!("{error}: {}", text(output)))
}

/// The lines that stand after a folder's name are left out: it differs from run to run.
fn without(folder: &Path, text: &str) -> String {
    text.replace(&folder.display().to_string(), "[drawings]")
}

#[test]
fn a_person_answers_doubts_skips_changes_and_stops() {
    let folder = tempfile::tempdir().unwrap();
    let drawings = folder.path().to_str().unwrap();
    // A caterpillar; two pairs or stubs; why; could not look; back to the first answer, which is given again; stop.
    let said = leafturn(&["key", "--means", "eye", "--drawings", drawings], "3\n3,4\nw\ns\nb\n2\n3\nq\n");
    assert_eq!(said.status.code(), Some(0), "{}", String::from_utf8_lossy(&said.stderr));
    let said = without(folder.path(), &text(&said));
    insta::assert_snapshot!("talk", said);
    assert!(folder.path().join("character-shape.svg").exists() && folder.path().join("character-pairs.png").exists());
}

#[test]
fn nonsense_is_not_an_answer_and_the_end_of_the_input_ends_the_talk() {
    let folder = tempfile::tempdir().unwrap();
    let drawings = folder.path().to_str().unwrap();
    let said = leafturn(&["key", "--drawings", drawings], "9\nmoth\n\n0\nb\n3\n");
    assert_eq!(said.status.code(), Some(0));
    let said = text(&said);
    for line in ["9 is not understood.", "moth is not understood.", "0 is not understood.", "Nothing has been answered"]
    {
        assert!(said.contains(line), "{line}: {said}");
    }
    assert!(said.contains("It may be any of these") || said.contains("It looks like this"), "{said}");
}

#[test]
fn a_guess_is_checked_with_two_questions_at_most_and_asked_on_when_wanted() {
    let folder = tempfile::tempdir().unwrap();
    let drawings = folder.path().to_str().unwrap();
    let said = text(&leafturn(&["key", "--guess", "larva3", "--drawings", drawings], "3\n3\ng\nq\n"));
    let questions = said.split("Your guess was checked.").next().unwrap().matches("Drawing:").count();
    assert!((1..=2).contains(&questions), "{said}");
    assert!(said.split("Your guess was checked.").nth(1).unwrap().contains('?'), "{said}");
    assert_eq!(leafturn(&["key", "--guess", "moth"], "").status.code(), Some(1));
    assert_eq!(leafturn(&["key", "--means", "radar"], "").status.code(), Some(2));
}

#[test]
fn a_script_gives_answers_and_gets_everything_that_follows() {
    let answers = r#"{"answers": {"pairs": "two", "filament-reach": "reaches|beyond", "body-length": "measuring:12,5"},
        "skipped": ["bites"], "means": ["eye"]}"#;
    let output = leafturn(&["key", "--answers", "-", "--json"], answers);
    assert_eq!(output.status.code(), Some(0));
    let told = json(&output);
    let sum: f64 = told["support"].as_array().unwrap().iter().map(|one| one["support"].as_f64().unwrap()).sum();
    assert!((sum - 1.0).abs() < 1e-9);
    assert_eq!(told["support"][0]["outcome"], "larva3");
    assert_eq!(told["proposal"]["counts"]["this"]["what"], "larva3+larva4");
    assert_eq!(told["evidence"]["answers"]["body-length"], "measuring:12.5");
    let fewer =
        json(&leafturn(&["key", "--answers", "-", "--json"], r#"{"answers": {"pairs": "two"}, "means": ["eye"]}"#));
    assert_eq!((&fewer["next"]["ask"]["by"], fewer["asks"]["states"].is_object()), (&Value::from("eye"), true));
    // The same from a file, in words of another language.
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("answers.json");
    std::fs::write(&file, answers).unwrap();
    let said = text(&leafturn(&["key", "--answers", file.to_str().unwrap(), "--language", "fr"], ""));
    assert!(said.contains("larve 3 ou larve 4") && said.contains("appui"), "{said}");
}

#[test]
fn bad_answers_are_named_and_the_good_ones_kept() {
    let answers = r#"{"answers": {"bands": "plaid", "wings": "two", "pairs": "two two", "body-length": "4000",
        "head-width": "-3", "shape": "smooth-caterpillar"}, "skipped": ["tail"]}"#;
    let output = leafturn(&["key", "--answers", "-", "--json"], answers);
    assert_eq!(output.status.code(), Some(1));
    let told = json(&output);
    let refused: Vec<_> = told["refused"].as_array().unwrap().iter().map(|one| one["message"].clone()).collect();
    assert_eq!(
        refused,
        [
            "key.refused.unknown-character",
            "key.refused.unknown-state",
            "key.refused.out-of-range",
            "key.refused.out-of-range",
            "key.refused.two-states",
            "key.refused.unknown-character"
        ]
    );
    assert_eq!(told["evidence"]["answers"].as_object().unwrap().len(), 1);
    for broken in ["", "{", "[]", r#"{"answer": {}}"#, r#"{"answers": {"shape": 3}}"#] {
        let output = leafturn(&["key", "--answers", "-", "--json"], broken);
        assert_eq!(output.status.code(), Some(1), "{broken}");
        assert!(String::from_utf8_lossy(&output.stderr).contains("cannot be read"), "{broken}");
    }
    assert_eq!(leafturn(&["key", "--answers", "/no/such/file"], "").status.code(), Some(3));
}

/// The tiny key of an invented insect, beside the monarch's.
const LAMP_MOTH: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../stagekey/tests/keys/lamp-moth.toml");

#[test]
fn another_insects_key_is_used_and_a_broken_one_leaves_the_built_in_one() {
    let output =
        leafturn(&["key", "--key", LAMP_MOTH, "--answers", "-", "--json"], r#"{"answers": {"glow": "glowing"}}"#);
    assert_eq!(output.status.code(), Some(0));
    let told = json(&output);
    assert_eq!((told["key"].as_str(), told["support"][0]["outcome"].as_str()), (Some("lamp-moth"), Some("egg")));
    assert!(told["invented"].as_str().is_some());
    let talk = text(&leafturn(&["key", "--key", LAMP_MOTH], "1\nq\n"));
    assert!(talk.contains("This key is made up.") && talk.contains("1  glowing"), "{talk}");

    let folder = tempfile::tempdir().unwrap();
    let broken = folder.path().join("broken.toml");
    let whole = std::fs::read_to_string(LAMP_MOTH).unwrap();
    std::fs::write(&broken, whole.replace("p = [0.9, 0.1]", "p = [0.9, 0.2]")).unwrap();
    let output = leafturn(&["key", "--key", broken.to_str().unwrap(), "--describe", "--json"], "");
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(said.contains("line ") && said.contains("sum to 1.1"), "{said}");
    assert_eq!(json(&output)["key"], "monarch");
}

#[test]
fn everything_that_the_key_knows_is_listed_with_its_sources() {
    let told = json(&leafturn(&["key", "--describe", "--json"], ""));
    let sources = told["sources"].as_object().unwrap();
    let known = |source: &Value| assert!(sources.contains_key(source.as_str().unwrap()), "{source}");
    let mut numbers = 0;
    for character in told["characters"].as_array().unwrap() {
        for look in character["looks"].as_array().unwrap() {
            known(&look["source"]);
            for row in look["likelihoods"].as_array().map_or(&[][..], Vec::as_slice) {
                known(&row["source"]);
                let p: Vec<f64> = row["p"].as_array().unwrap().iter().map(|p| p.as_f64().unwrap()).collect();
                assert_eq!(p.len(), character["states"].as_array().unwrap().len());
                assert!((p.iter().sum::<f64>() - 1.0).abs() < 1e-9 && p.iter().all(|p| *p > 0.0 && *p < 1.0));
                numbers += p.len();
            }
        }
    }
    assert!(numbers > 1000, "{numbers}");
    assert!(told["outcomes"].as_array().unwrap().iter().any(|one| one["looks_like"][0]["none_deciding"].is_string()));
    let said = text(&leafturn(&["key", "--describe"], ""));
    assert!(said.contains("[dyar]") && said.contains("filament-reach"), "{said}");
}

#[test]
fn practice_asks_marks_and_scores() {
    let folder = tempfile::tempdir().unwrap();
    let keep = folder.path().join("mine.jsonl");
    let drawings = folder.path().join("drawings");
    let arguments =
        ["practice", "--items", "3", "--seed", "7", "--json", "--keep", keep.to_str().unwrap(), "--drawings"];
    let arguments = [&arguments[..], &[drawings.to_str().unwrap()]].concat();
    // An unknown answer is asked again; the third item is left.
    let output = leafturn(&arguments, "moth\negg\nsame-instar\negg\nsame-instar\nq\n");
    assert_eq!(output.status.code(), Some(0));
    let lines: Vec<Value> = text(&output).lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let of = |kind: &str| lines.iter().filter(|line| line.get(kind).is_some()).count();
    assert_eq!((of("item"), of("score")), (3, 1));
    assert!(of("not-understood") >= 1 && of("marks") == 2, "{lines:?}");
    assert!(lines.iter().all(|line| line["item"].get("truth").is_none()));
    assert_eq!(std::fs::read_to_string(&keep).unwrap().lines().count(), 2);
    assert!(drawings.join("item-001.png").exists() && drawings.join("item-001-explained.svg").exists());
    // The next round goes on from what was kept: another item comes first.
    let again = leafturn(&arguments, "q\n");
    let first: Value = serde_json::from_str(text(&again).lines().next().unwrap()).unwrap();
    assert_ne!(first["item"]["description"], lines[0]["item"]["description"]);
    std::fs::write(&keep, "{\n").unwrap();
    let output = leafturn(&arguments, "q\n");
    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&output.stderr).contains("line 1"));
}

#[test]
fn practice_in_words_and_an_endless_stream_of_nonsense_ends() {
    let folder = tempfile::tempdir().unwrap();
    let drawings = folder.path().to_str().unwrap();
    let arguments = ["practice", "--items", "2", "--seed", "3", "--language", "es", "--drawings", drawings];
    let said = leafturn(&arguments, "1\n2\n");
    insta::assert_snapshot!("practice", without(folder.path(), &text(&said)));
    let said = leafturn(&["practice", "--seed", "3", "--json", "--drawings", drawings], &"moth\n".repeat(100));
    assert_eq!(text(&said).matches("not-understood").count(), 20);
}

#[test]
fn drawings_are_written_as_svg_and_png() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_str().unwrap();
    for (arguments, name) in [
        (&["draw", "larva3", "--out", out][..], "larva3"),
        (&["draw", "--all", "--out", out, "--language", "fr"], "plate"),
        (&["draw", "--character", "filament-reach", "--out", out, "--scale", "1"], "character-filament-reach"),
    ] {
        let output = leafturn(arguments, "");
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        let svg = std::fs::read_to_string(folder.path().join(format!("{name}.svg"))).unwrap();
        assert!(svg.contains("<title") && !svg.contains("drawing."), "{name}");
        let png = std::fs::read(folder.path().join(format!("{name}.png"))).unwrap();
        assert!(png.starts_with(b"\x89PNG") && png.len() > 2000, "{name}");
        assert_eq!(text(&output).lines().count(), 2);
    }
    for wrong in [&["draw"][..], &["draw", "moth"], &["draw", "egg", "--all"], &["draw", "--character", "wings"]] {
        assert_eq!(leafturn(wrong, "").status.code(), Some(2), "{wrong:?}");
    }
}
