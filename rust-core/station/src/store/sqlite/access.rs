//! Invitations, tokens, memberships.

use super::value::{device, one, rows, run, site};
use super::{SqliteStore, StoreError};
use crate::security::codes::MOST_TRIES;
use crate::security::secret::SecretHash;
use crate::store::access::{AccessStore, DeviceRow, Invitation, Invited, Joining, Redeemed, TokenRow, TokenState};
use rusqlite::{Connection, params};
use subtle::ConstantTimeEq;
use survey::defect::{Defect, planted};
use survey::ids::{DeviceId, SiteId};
use survey::time::UnixMs;

impl AccessStore for SqliteStore {
    fn invite(&self, invitation: &Invitation) -> Result<Invited, StoreError> {
        self.write(|t| {
            let living = "SELECT 1 FROM invitations WHERE prefix = ?1 AND expires_ms > ?2 AND tries < ?3";
            if one(t, living, params![invitation.prefix.0, invitation.made.0, MOST_TRIES], |_| Ok(()))?.is_some() {
                return Ok(Invited::PrefixTaken);
            }
            run(
                t,
                "INSERT INTO invitations (digest, prefix, name, made_ms, expires_ms) VALUES (?1, ?2, ?3, ?4, ?5)",
                params![
                    invitation.digest.0,
                    invitation.prefix.0,
                    invitation.name,
                    invitation.made.0,
                    invitation.expires.0
                ],
            )?;
            for site in &invitation.sites {
                let key = params![invitation.digest.0, site.octets()];
                run(t, "INSERT OR IGNORE INTO invitation_sites (digest, site) VALUES (?1, ?2)", key)?;
            }
            Ok(Invited::Kept)
        })
    }

    fn redeem(&self, joining: &Joining) -> Result<Redeemed, StoreError> {
        self.write(|t| redeem(t, joining))
    }

    fn token(&self, token: SecretHash) -> Result<Option<TokenRow>, StoreError> {
        self.read(|t| {
            let sql = if planted(Defect::TokenByPrefix) {
                "SELECT ?1, device, revoked FROM tokens WHERE substr(token, 1, 1) = substr(?1, 1, 1)"
            } else {
                "SELECT token, device, revoked FROM tokens WHERE token = ?1"
            };
            let row = one(t, sql, params![token.0], |row| {
                Ok((SecretHash(row.get(0)?), TokenRow { device: device(row, 1)?, state: state(row.get(2)?) }))
            })?;
            Ok(row.filter(|(found, _)| *found == token).map(|(_, row)| row))
        })
    }

    fn revoke(&self, device: DeviceId) -> Result<(), StoreError> {
        self.write(|t| {
            run(t, "UPDATE tokens SET revoked = 1 WHERE device = ?1", params![device.octets()])?;
            run(t, "DELETE FROM memberships WHERE device = ?1", params![device.octets()])?;
            Ok(())
        })
    }

    fn grant(&self, device: DeviceId, site: SiteId, at: UnixMs) -> Result<(), StoreError> {
        self.write(|t| grant(t, device, site, at))
    }

    fn memberships(&self, device: DeviceId) -> Result<Vec<SiteId>, StoreError> {
        self.read(|t| memberships(t, device))
    }

    fn devices(&self) -> Result<Vec<DeviceRow>, StoreError> {
        self.read(|t| {
            let sql = "SELECT t.device, p.name, min(t.since_ms), min(t.revoked)
                 FROM tokens t LEFT JOIN people p ON p.id = t.device AND p.role = 'device'
                 GROUP BY t.device ORDER BY t.device";
            let mut devices = rows(t, sql, [], |row| {
                Ok(DeviceRow {
                    device: device(row, 0)?,
                    name: row.get(1)?,
                    joined: UnixMs(row.get(2)?),
                    state: state(row.get(3)?),
                    sites: Vec::new(),
                })
            })?;
            for row in &mut devices {
                row.sites = memberships(t, row.device)?;
            }
            Ok(devices)
        })
    }
}

fn redeem(t: &Connection, joining: &Joining) -> Result<Redeemed, StoreError> {
    let living = "SELECT digest, name, used_device, used_token FROM invitations
         WHERE prefix = ?1 AND expires_ms > ?2 AND tries < ?3";
    let candidates = rows(t, living, params![joining.prefix.0, joining.at.0, MOST_TRIES], |row| {
        Ok(Candidate { digest: row.get(0)?, name: row.get(1)?, used_device: row.get(2)?, used_token: row.get(3)? })
    })?;
    let Some(found) = candidates.into_iter().find(|row| row.digest.ct_eq(&joining.digest.0).into()) else {
        run(t, "UPDATE invitations SET tries = tries + 1 WHERE prefix = ?1", params![joining.prefix.0])?;
        return Ok(Redeemed::Unknown);
    };
    if let (Some(device), Some(token)) = (found.used_device, found.used_token)
        && (device != joining.device.octets() || SecretHash(token) != joining.token)
    {
        return Ok(Redeemed::Spent);
    }
    let other = "SELECT 1 FROM tokens WHERE (device = ?1 AND revoked = 0 AND token <> ?2)
         OR (token = ?2 AND (device <> ?1 OR revoked = 1))";
    if one(t, other, params![joining.device.octets(), joining.token.0], |_| Ok(()))?.is_some() {
        return Ok(Redeemed::DeviceTaken);
    }
    let sites =
        rows(t, "SELECT site FROM invitation_sites WHERE digest = ?1 ORDER BY site", params![found.digest], |row| {
            site(row, 0)
        })?;
    if found.used_device.is_none() {
        spend(t, joining, &found, &sites)?;
    }
    Ok(Redeemed::Joined { sites: memberships(t, joining.device)? })
}

struct Candidate {
    digest: [u8; 32],
    name: Option<String>,
    used_device: Option<[u8; 16]>,
    used_token: Option<[u8; 32]>,
}

fn spend(t: &Connection, joining: &Joining, found: &Candidate, sites: &[SiteId]) -> Result<(), StoreError> {
    let (device, token) = (joining.device.octets(), joining.token.0);
    run(
        t,
        "UPDATE invitations SET used_device = ?2, used_token = ?3 WHERE digest = ?1",
        params![found.digest, device, token],
    )?;
    run(
        t,
        "INSERT OR IGNORE INTO tokens (token, device, since_ms) VALUES (?1, ?2, ?3)",
        params![token, device, joining.at.0],
    )?;
    if let Some(name) = &found.name {
        let sql = "INSERT INTO people (id, role, name) VALUES (?1, 'device', ?2)
             ON CONFLICT (id, role) DO UPDATE SET name = excluded.name";
        run(t, sql, params![device, name])?;
    }
    sites.iter().try_for_each(|site| grant(t, joining.device, *site, joining.at))
}

fn grant(t: &Connection, device: DeviceId, site: SiteId, at: UnixMs) -> Result<(), StoreError> {
    let key = params![device.octets(), site.octets(), at.0];
    run(t, "INSERT OR IGNORE INTO memberships (device, site, since_ms) VALUES (?1, ?2, ?3)", key)?;
    Ok(())
}

fn memberships(t: &Connection, device: DeviceId) -> Result<Vec<SiteId>, StoreError> {
    rows(t, "SELECT site FROM memberships WHERE device = ?1 ORDER BY site", params![device.octets()], |row| {
        site(row, 0)
    })
}

const fn state(revoked: bool) -> TokenState {
    if revoked { TokenState::Revoked } else { TokenState::Living }
}
