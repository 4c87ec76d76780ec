//! An app that speaks the wire by itself: it pushes what a newer version would, what is no entry at all, and reviews.

use crate::ledger::Ledger;
use crate::station::Wire;
use crate::trouble::Trouble;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use survey::chain::{Hash, Head, Link, StreamId};
use survey::ids::{DeviceId, EntryId, Epoch};
use sync::engine::Dice;
use sync::framing::{Encoding, encode_batch};
use sync::wire::push::Purpose;
use sync::wire::{content, paths};

/// The app.
#[derive(Debug)]
pub struct Desk {
    /// Its device.
    pub device: DeviceId,
    /// Its token.
    pub token: Option<String>,
    /// Its journal.
    pub links: Vec<Link>,
    /// The review in force of each count, by id.
    reviews: BTreeMap<String, String>,
    stream: StreamId,
    dice: Dice,
}

impl Desk {
    /// An app whose ids follow from the seed.
    pub fn new(seed: u64) -> Self {
        let mut dice = Dice::new(seed ^ 0xDE5C);
        let device = DeviceId::random(octets(&mut dice));
        let epoch = Epoch::random(octets(&mut dice));
        Self {
            device,
            token: None,
            links: Vec::new(),
            reviews: BTreeMap::new(),
            stream: StreamId { device, epoch },
            dice,
        }
    }

    /// A token of its own; the request that makes it known.
    pub fn enrol(&mut self, code: &str) -> Wire {
        let [one, two] = [octets(&mut self.dice), octets(&mut self.dice)].map(u128::from_be_bytes);
        let token = format!("{one:032x}{two:032x}");
        let hash = Hash::plain(token.as_bytes());
        self.token = Some(token);
        let body = json!({ "code": code, "device": self.device, "token_hash": hash });
        Wire {
            method: "POST",
            path: paths::ENROL.into(),
            headers: vec![("content-type".into(), content::JSON.into())],
            body: body.to_string().into_bytes(),
        }
    }

    /// Writes an entry of a kind that this version does not know, about what another entry is about.
    ///
    /// # Errors
    /// Never here.
    pub fn write_newer(&mut self, scope: &Value, ledger: &mut Ledger) -> Result<(), Trouble> {
        let payload = json!({ "milligrams": 12, "unheard": { "of": [] } });
        self.write(scope, "leaf-weighed", &payload, &[], ledger)
    }

    /// Writes a review of a count.
    ///
    /// # Errors
    /// Never here.
    pub fn review(&mut self, scope: &Value, count: &str, instead: &Value, ledger: &mut Ledger) -> Result<(), Trouble> {
        let payload = json!({ "count": count, "instead": instead, "reason": "observer-said" });
        let before: Vec<String> = self.reviews.get(count).cloned().into_iter().collect();
        self.write(scope, "reviewed", &payload, &before, ledger)?;
        if let Some(last) = self.links.last()
            && let Ok(value) = serde_json::from_slice::<Value>(&last.bytes)
        {
            self.reviews.insert(count.to_owned(), value["id"].as_str().unwrap_or_default().to_owned());
        }
        Ok(())
    }

    /// Writes something that is no entry.
    pub fn garble(&mut self) {
        let bytes = format!("no entry at all, {:x}", self.dice.roll()).into_bytes();
        self.append(bytes);
    }

    fn write(
        &mut self,
        scope: &Value,
        kind: &str,
        payload: &Value,
        replaces: &[String],
        ledger: &mut Ledger,
    ) -> Result<(), Trouble> {
        // Later than anything seen, as a hybrid clock that merges everything would have it.
        let hybrid = ledger.lines.values().map(|line| line.order.0).max().unwrap_or(0) + 1;
        let id = EntryId::timed(hybrid, octets(&mut self.dice));
        let mut entry = json!({
            "id": id, "kind": kind, "v": 1, "hybrid": [hybrid, 0], "wall": hybrid, "offset": 0, "up": 5,
            "boot": "00000000-0000-4000-8000-000000000009", "scope": scope, "payload": payload,
        });
        if !replaces.is_empty() {
            entry["replaces"] = json!(replaces);
        }
        self.append(entry.to_string().into_bytes());
        if let Some(last) = self.links.last() {
            ledger.note(last)?;
        }
        Ok(())
    }

    fn append(&mut self, bytes: Vec<u8>) {
        let head = self.links.last().map_or(Head::START, Link::head);
        self.links.push(head.extend(self.stream, bytes));
    }

    /// A request that pushes the whole journal.
    pub fn push(&self) -> Option<Wire> {
        let (body, _) = encode_batch(&self.links, Purpose::Entries, Encoding::Gzip)?;
        let token = self.token.as_ref()?;
        let headers = [
            ("content-type", content::ENTRIES.to_owned()),
            ("content-encoding", content::GZIP.to_owned()),
            ("authorization", format!("Bearer {token}")),
        ];
        Some(Wire {
            method: "POST",
            path: paths::entries(self.stream),
            headers: headers.into_iter().map(|(name, value)| (name.to_owned(), value)).collect(),
            body,
        })
    }
}

fn octets(dice: &mut Dice) -> [u8; 16] {
    (u128::from(dice.roll()) << 64 | u128::from(dice.roll())).to_be_bytes()
}
