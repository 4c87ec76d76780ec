//! The coordinator's desk: reviews, and what other apps push.

use crate::person::pick;
use crate::step::{Deed, below};
use crate::trouble::{Trouble, hold};
use crate::world::World;
use serde_json::{Value, json};
use sync::engine::Dice;

impl World<'_> {
    /// Something is written at the desk and pushed.
    pub(crate) fn at_desk(&mut self, deed: Deed, dice: &mut Dice) -> Result<bool, Trouble> {
        let about: Vec<(String, Value, u64)> = self
            .ledger
            .lines
            .values()
            .filter(|line| if deed == Deed::Review { line.kind == "counted" } else { line.scope.0.is_some() })
            .map(|line| {
                let scope = match &line.scope {
                    (site, Some(visit)) => json!({ "site": site, "visit": visit }),
                    (site, None) => json!({ "site": site }),
                };
                (line.id.clone(), scope, line.payload["number"].as_u64().unwrap_or(1))
            })
            .collect();
        if deed == Deed::Garbled {
            self.desk.garble();
        } else {
            let Some((id, scope, number)) = pick(&about, dice) else { return Ok(false) };
            if deed == Deed::Newer {
                self.desk.write_newer(&scope, &mut self.ledger)?;
            } else {
                let instead = match below(dice, 3) {
                    0 => json!({}),
                    1 => json!({ "larva2": number }),
                    _ => json!({ "egg": number, "larva4": 1 }),
                };
                self.desk.review(&scope, &id, &instead, &mut self.ledger)?;
            }
        }
        self.send_from_desk(dice)?;
        Ok(true)
    }

    /// Pushes the desk's whole journal; joins first where the station does not know it.
    ///
    /// # Errors
    /// The station said what it must not say.
    pub fn send_from_desk(&mut self, dice: &mut Dice) -> Result<(), Trouble> {
        for _ in 0..2 {
            if self.desk.token.is_none() {
                let device = self.desk.device;
                let station = self.station()?;
                let asked = station.welcome_again(device).and_then(|()| station.invite(&[], dice));
                let Ok(code) = asked else {
                    hold!(self.station_full_for > 0, "no invitation from a station with room");
                    return Ok(());
                };
                let wire = self.desk.enrol(&code);
                let answer = self.ask(wire)?;
                if answer.status != 200 {
                    hold!(self.station_full_for > 0, "the desk could not join: {}", answer.status);
                    self.desk.token = None;
                    return Ok(());
                }
            }
            let Some(wire) = self.desk.push() else { return Ok(()) };
            let answer = self.ask(wire)?;
            match answer.status {
                200 => {
                    let kept = self.desk.links.iter().map(|link| (link.stream, link.seq.0, link.hash));
                    self.promised.extend(kept);
                    return Ok(());
                }
                401 => self.desk.token = None,
                status => {
                    hold!(self.station_full_for > 0, "the desk's journal got {status}");
                    return Ok(());
                }
            }
        }
        Ok(())
    }
}
