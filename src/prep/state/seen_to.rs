//! What was ordered, soaked or thawed.
//!
//! Each entry says how much there is in all, so of several that count the last holds, and the same said twice at two
//! terminals is the same.

use super::PrepState;
use crate::book::{EntryId, Errand, Much};
use crate::time::Timestamp;

impl PrepState {
    /// Returns how much of some goods is ordered, with the last entry that says so and when that was; none where nobody has.
    pub fn ordered(&self, name: &str) -> Option<(EntryId, Timestamp, &Much)> {
        self.seen_to(|errand| match errand {
            Errand::Order { goods } => goods.get(name),
            Errand::Ahead { .. } => None,
        })
    }

    /// Returns to how much of some goods something was done for a dish, by its id, as [`PrepState::ordered`] does.
    pub fn done_ahead(
        &self,
        what: &str,
        name: &str,
        dish: &str,
    ) -> Option<(EntryId, Timestamp, &Much)> {
        self.seen_to(|errand| match errand {
            Errand::Ahead {
                what: done,
                name: goods,
                dish: of,
                much,
            } => (done == what && goods == name && of == dish).then_some(much),
            Errand::Order { .. } => None,
        })
    }

    fn seen_to<'a>(
        &'a self,
        much: impl Fn(&'a Errand) -> Option<&'a Much>,
    ) -> Option<(EntryId, Timestamp, &'a Much)> {
        let mut last = self.seen_to.iter().rev();
        last.find_map(|(id, at, errand)| {
            let much = much(errand).filter(|_| self.counts(*id))?;
            Some((*id, *at, much))
        })
    }

    /// Returns whether an entry about an errand says what counts without it: with two terminals at once there are two.
    pub fn is_said_twice(&self, id: EntryId) -> bool {
        let of = self.seen_to.iter().find(|(of, ..)| *of == id);
        of.is_some_and(|(_, _, errand)| {
            let mut others = self.seen_to.iter();
            others.any(|(other, _, said)| *other != id && said == errand && self.counts(*other))
        })
    }

    /// Whether something is seen to already, so that to say so again changes nothing.
    pub(super) fn is_seen_to(&self, errand: &Errand) -> bool {
        let known = |known: Option<(EntryId, Timestamp, &Much)>, much: &Much| {
            known.is_some_and(|(_, _, known)| known.all == much.all)
        };
        match errand {
            Errand::Order { goods } => goods
                .iter()
                .all(|(name, much)| known(self.ordered(name), much)),
            Errand::Ahead {
                what,
                name,
                dish,
                much,
            } => known(self.done_ahead(what, name, dish), much),
        }
    }
}
