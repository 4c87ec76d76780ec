//! Coordinators, sign-in links and sessions.

use super::value::{one, rows, run};
use super::{SqliteStore, StoreError};
use crate::security::secret::SecretHash;
use crate::store::coordinators::{Coordinator, CoordinatorStore, Grant, IDLE_MS, LIFE_MS, LINK_MS, Role};
use rusqlite::{Connection, params};
use survey::ids::{ObserverId, SiteId};
use survey::time::UnixMs;

impl CoordinatorStore for SqliteStore {
    fn add_coordinator(
        &self,
        id: ObserverId,
        name: &str,
        grants: &[Grant],
        link: SecretHash,
        at: UnixMs,
    ) -> Result<ObserverId, StoreError> {
        self.write(|t| {
            let known =
                one(t, "SELECT id FROM people WHERE role = 'coordinator' AND name = ?1", params![name], |row| {
                    row.get(0)
                })?;
            let id = known.unwrap_or_else(|| id.octets());
            if known.is_none() {
                run(t, "INSERT INTO people (id, role, name) VALUES (?1, 'coordinator', ?2)", params![id, name])?;
            }
            for grant in grants {
                let site = grant.site.map_or(Vec::new(), |site| site.octets().to_vec());
                let sql = "INSERT INTO grants (coordinator, site, role) VALUES (?1, ?2, ?3)
                     ON CONFLICT (coordinator, site) DO UPDATE SET role = max(role, excluded.role)";
                run(t, sql, params![id, site, number(grant.role)])?;
            }
            run(t, "DELETE FROM sign_in_links WHERE made_ms < ?1", params![at.0.saturating_sub(LINK_MS)])?;
            run(
                t,
                "INSERT INTO sign_in_links (link, coordinator, made_ms) VALUES (?1, ?2, ?3)",
                params![link.0, id, at.0],
            )?;
            Ok(ObserverId::from_octets(id))
        })
    }

    fn sign_in(&self, link: SecretHash, session: SecretHash, at: UnixMs) -> Result<bool, StoreError> {
        self.write(|t| {
            let sql = "DELETE FROM sign_in_links WHERE link = ?1 AND made_ms > ?2 RETURNING coordinator";
            let who = one(t, sql, params![link.0, at.0.saturating_sub(LINK_MS)], |row| row.get::<_, [u8; 16]>(0))?;
            let Some(who) = who else {
                return Ok(false);
            };
            let over = params![at.0.saturating_sub(IDLE_MS), at.0.saturating_sub(LIFE_MS)];
            run(t, "DELETE FROM sessions WHERE used_ms <= ?1 OR opened_ms <= ?2", over)?;
            let sql = "INSERT INTO sessions (session, coordinator, used_ms, opened_ms) VALUES (?1, ?2, ?3, ?3)";
            run(t, sql, params![session.0, who, at.0])?;
            Ok(true)
        })
    }

    fn session(&self, session: SecretHash, at: UnixMs) -> Result<Option<Coordinator>, StoreError> {
        let found = self.read(|t| {
            let sql = "SELECT s.session, s.coordinator, p.name, s.used_ms FROM sessions s
                 JOIN people p ON p.id = s.coordinator AND p.role = 'coordinator'
                 WHERE s.session = ?1 AND s.used_ms > ?2 AND s.opened_ms > ?3";
            let row =
                one(t, sql, params![session.0, at.0.saturating_sub(IDLE_MS), at.0.saturating_sub(LIFE_MS)], |row| {
                    let id = ObserverId::from_octets(row.get(1)?);
                    Ok((SecretHash(row.get(0)?), id, row.get::<_, String>(2)?, row.get::<_, i64>(3)?))
                })?;
            let Some((_, id, name, used)) = row.filter(|(found, ..)| *found == session) else {
                return Ok(None);
            };
            Ok(Some((Coordinator { id, name, grants: grants(t, id)? }, used)))
        })?;
        let Some((coordinator, used)) = found else {
            return Ok(None);
        };
        // A write for every page would make readers wait for writers; a minute more or less of twelve hours does not matter.
        if at.0 - used > 60_000 {
            let sql = "UPDATE sessions SET used_ms = max(used_ms, ?2) WHERE session = ?1";
            self.write(|t| run(t, sql, params![session.0, at.0]))?;
        }
        Ok(Some(coordinator))
    }

    fn revoke_coordinator(&self, name: &str) -> Result<bool, StoreError> {
        self.write(|t| {
            let sql = "SELECT id FROM people WHERE role = 'coordinator' AND name = ?1";
            let Some(id) = one(t, sql, params![name], |row| row.get::<_, [u8; 16]>(0))? else {
                return Ok(false);
            };
            for table in ["sessions", "sign_in_links", "grants"] {
                run(t, &format!("DELETE FROM {table} WHERE coordinator = ?1"), params![id])?;
            }
            Ok(true)
        })
    }

    fn sign_out(&self, session: SecretHash) -> Result<(), StoreError> {
        self.write(|t| {
            run(t, "DELETE FROM sessions WHERE session = ?1", params![session.0])?;
            Ok(())
        })
    }
}

fn grants(t: &Connection, id: ObserverId) -> Result<Vec<Grant>, StoreError> {
    let sql = "SELECT site, role FROM grants WHERE coordinator = ?1 ORDER BY site";
    rows(t, sql, params![id.octets()], |row| {
        let site: Vec<u8> = row.get(0)?;
        let role = match row.get(1)? {
            3 => Role::Administer,
            2 => Role::Review,
            _ => Role::Read,
        };
        Ok(Grant { role, site: <[u8; 16]>::try_from(site).ok().map(SiteId::from_octets) })
    })
}

const fn number(role: Role) -> i64 {
    match role {
        Role::Read => 1,
        Role::Review => 2,
        Role::Administer => 3,
    }
}
