//! A site, from the entries on it.

use super::check::Fields;
use super::index::{Fold, Kept, Subject};
use super::state::{SiteState, TaggedPlant};
use super::visit::{notes, told};
use crate::entry::Act;
use crate::finding::Finding;
use crate::ids::{EggId, PlantId, SiteId};
use crate::place::PublicPrecision;
use crate::site::{PlantDescription, Privacy, SiteDescription};
use std::collections::{BTreeMap, BTreeSet};

impl Fold {
    /// State of the site that this id belongs to. `None` where no entry names it.
    pub fn site(&self, id: SiteId) -> Option<SiteState> {
        let members = self.site_group(id);
        let whole: Vec<&Kept> = members.iter().flat_map(|&member| self.all_known(member)).collect();
        if whole.is_empty() && members.iter().all(|&member| self.visits_at(member).is_empty()) {
            return None;
        }
        let mut by = BTreeSet::new();
        let mut findings = Vec::new();
        let mut description = SiteDescription::default();
        // The smallest id names the group and its values come first; a joined site fills what is missing.
        for &member in &members {
            let mut fields =
                Fields { fold: self, subjects: vec![Subject::Site(member)], by: BTreeSet::new(), conflict: None };
            let own = &mut description;
            own.name = own.name.take().or(fields.take(|act| described(act)?.name.as_ref()));
            own.place = own.place.take().or(fields.take(|act| described(act)?.place.as_ref()));
            own.public_precision =
                own.public_precision.max(fields.take(|act| described(act)?.public_precision.as_ref()));
            own.private = own.private.max(fields.take(|act| described(act)?.private.as_ref()));
            own.other_danaus = own.other_danaus.max(fields.take(|act| described(act)?.other_danaus.as_ref()));
            own.stems_expected = own.stems_expected.or(fields.take(|act| described(act)?.stems_expected.as_ref()));
            by.append(&mut fields.by);
            if fields.conflict.is_some() {
                findings.push(Finding::ConflictingValues { check: None });
            }
        }
        let stated = description.public_precision.unwrap_or_default();
        Some(SiteState {
            id: *members.first()?,
            name: description.name,
            place: description.place,
            public_precision: match description.private {
                Some(Privacy::Private) => stated.max(PublicPrecision::Hundredth),
                Some(Privacy::Public) | None => stated,
            },
            private: description.private,
            other_danaus: description.other_danaus,
            stems_expected: description.stems_expected,
            described_by: by.into_iter().collect(),
            plants: self.plants(&whole),
            host_counts: told(&whole, |act| match act {
                Act::HostsCounted(count) => Some(count.clone()),
                _ => None,
            }),
            management: told(&whole, |act| match act {
                Act::ManagementNoted(management) => Some(management.clone()),
                _ => None,
            }),
            finds: told(&whole, |act| match act {
                Act::FoundOutside(find) => Some(find.clone()),
                _ => None,
            }),
            eggs: eggs(&whole),
            notes: notes(&whole),
            photos: self.photos(&whole),
            visits: self.visits(id),
            members,
            findings,
        })
    }

    fn all_known(&self, site: SiteId) -> Vec<&Kept> {
        self.on(Subject::Site(site))
    }

    fn plants(&self, whole: &[&Kept]) -> Vec<TaggedPlant> {
        let ids: BTreeSet<PlantId> = whole
            .iter()
            .filter_map(|kept| match &kept.entry.act {
                Act::PlantTagged(tagged) => Some(tagged.plant),
                _ => None,
            })
            .collect();
        ids.into_iter()
            .map(|id| {
                let mut fields =
                    Fields { fold: self, subjects: vec![Subject::Plant(id)], by: BTreeSet::new(), conflict: None };
                let description = PlantDescription {
                    label: fields.take(|act| tagged(act)?.label.as_ref()),
                    place: fields.take(|act| tagged(act)?.place.as_ref()),
                    host: fields.take(|act| tagged(act)?.host.as_ref()),
                };
                TaggedPlant { id, description, described_by: fields.by.into_iter().collect() }
            })
            .collect()
    }
}

fn eggs(whole: &[&Kept]) -> BTreeMap<EggId, Vec<super::state::Told<crate::site::EggSeen>>> {
    let mut eggs: BTreeMap<EggId, Vec<_>> = BTreeMap::new();
    let seen = told(whole, |act| match act {
        Act::EggSeen(seen) => Some(seen.clone()),
        _ => None,
    });
    for told in seen {
        eggs.entry(told.what.egg).or_default().push(told);
    }
    eggs
}

const fn described(act: &Act) -> Option<&SiteDescription> {
    match act {
        Act::SiteDescribed(description) => Some(description),
        _ => None,
    }
}

const fn tagged(act: &Act) -> Option<&PlantDescription> {
    match act {
        Act::PlantTagged(tagged) => Some(&tagged.description),
        _ => None,
    }
}
