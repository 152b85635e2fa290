//! Where each part of a menu was written, so that a rule across the whole menu can still point into a file.

use std::collections::BTreeMap;

use super::decode::Fields;
use super::fault::{Collected, Fault, Place};
use super::syntax::harmless;
use crate::menu::{About, Finding, Subject};

/// Where the dishes, steps and kit of a menu were written.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Places {
    spots: BTreeMap<Subject, Vec<Spot>>,
}

/// Where one bracket stands.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Spot {
    from: Place,
    to: Place,
    fields: BTreeMap<String, Place>,
}

impl Places {
    /// Returns where a step of a dish, a dish, or (neither given) the menu begins.
    pub fn of(&self, dish: Option<&str>, step: Option<&str>) -> Option<Place> {
        let subject = match (dish, step) {
            (Some(dish), Some(step)) => Subject::Step(dish.to_owned(), step.to_owned()),
            (Some(dish), None) => Subject::Dish(dish.to_owned()),
            (None, _) => Subject::Menu,
        };
        let spot = self.spots.get(&subject)?.first()?;
        Some(spot.from.clone())
    }

    /// Keeps where a bracket stands, and each of its fields.
    pub(super) fn keep(&mut self, subject: Subject, fields: &Fields<'_>) {
        let place = |at| fields.source.place(at);
        let spot = Spot {
            from: place(fields.span.start),
            to: place(fields.span.end),
            fields: fields
                .spans()
                .into_iter()
                .map(|(name, span)| (name, place(span.start)))
                .collect(),
        };
        self.spots.entry(subject).or_default().push(spot);
    }

    fn spot(&self, finding: &Finding) -> Option<&Spot> {
        let spots = self.spots.get(&finding.subject)?;
        spots.get(finding.which).or(spots.first())
    }

    /// Returns a finding as a fault at the place it is about; `elsewhere` is for what stands nowhere.
    fn fault(&self, finding: Finding, elsewhere: &Place) -> Fault {
        let spot = self.spot(&finding);
        let field = finding
            .field
            .and_then(|field| spot?.fields.get(field).cloned());
        let place = field
            .or_else(|| spot.map(|spot| spot.from.clone()))
            .unwrap_or_else(|| elsewhere.clone());
        // A finding repeats names as the file has them; no name is read further than this.
        let said = |text: String| harmless(&text.chars().take(1000).collect::<String>());
        Fault {
            place,
            what: said(finding.what),
            instead: finding.instead.map(said),
        }
    }

    /// Sorts findings into faults and warnings, leaving out those that only repeat what is already reported:
    /// about a bracket with a fault inside, and (when something could not be read at all) about names that
    /// nothing seems to have.
    pub(super) fn sort(
        &self,
        findings: Vec<Finding>,
        faults: &Collected,
        names_missing: bool,
        elsewhere: &Place,
    ) -> (Vec<Fault>, Vec<Fault>) {
        let mut wrong = Vec::new();
        let mut unwise = Vec::new();
        for finding in findings {
            let marred = self
                .spot(&finding)
                .is_some_and(|spot| faults.any_between(&spot.from, &spot.to));
            match finding.about {
                About::Name if names_missing => {}
                About::Name => wrong.push(self.fault(finding, elsewhere)),
                _ if marred => {}
                About::Limit => wrong.push(self.fault(finding, elsewhere)),
                About::Unwise => unwise.push(self.fault(finding, elsewhere)),
            }
        }
        (wrong, unwise)
    }
}
