//! Drawing consequences to the end, and saying afterward what each was drawn from.

use super::branching::Branching;
use super::clauses::Clauses;
use super::literal::{Literal, Side};
use super::model::Model;
use super::timetable::Clash;
use super::trail::{Event, Reason, Trail};

/// The state of a search.
#[derive(Clone, Debug)]
pub(super) struct Engine {
    pub(super) model: Model,
    pub(super) trail: Trail,
    pub(super) clauses: Clauses,
    pub(super) branching: Branching,
    /// The resources whose users have moved since they were looked at.
    moved: Vec<bool>,
    /// Rises followed up so far.
    pub(super) steps: u64,
    pub(super) conflicts: u64,
    pub(super) learning: super::learning::Learning,
}

impl Engine {
    pub(super) fn new(model: Model) -> Self {
        let trail = Trail::new(&model.ranges);
        Self {
            clauses: Clauses::new(2 * model.ranges.len()),
            branching: Branching::new(&model.ranges),
            moved: vec![false; model.tables.len()],
            steps: 0,
            conflicts: 0,
            learning: super::learning::Learning::new(2 * model.ranges.len()),
            trail,
            model,
        }
    }

    /// Draws every consequence of what is new on the trail.
    pub(super) fn propagate(&mut self) -> Result<(), Clash> {
        let done = self.propagate_all();
        if done.is_err() {
            self.moved.fill(false);
        }
        done
    }

    fn propagate_all(&mut self) -> Result<(), Clash> {
        loop {
            while let Some(event) = self.trail.next_event() {
                self.steps += 1;
                let Event { side, old, new, .. } = event;
                // Where it rose further, what the last rise brings covers this one; only clauses ask for each.
                let holds = !event.is_latest
                    || if side.variable() < self.model.starts {
                        for &resource in &self.model.uses[side.variable()] {
                            self.moved[resource as usize] = true;
                        }
                        self.follow_lags(side, new)
                    } else {
                        self.follow_order(side, new)
                    };
                if !holds || !self.clauses.follow(&mut self.trail, side, old, new) {
                    return Err(Clash::NoValue);
                }
            }
            let Some(resource) = self.moved.iter().position(|&moved| moved) else {
                return Ok(());
            };
            self.moved[resource] = false;
            self.model.tables[resource].follow(resource as u32, &mut self.trail)?;
        }
    }

    fn follow_lags(&mut self, side: Side, new: i32) -> bool {
        for number in self.model.arcs.of(side) {
            let arc = self.model.arcs.item(number);
            let implied = Literal::new(arc.to, new + arc.lag);
            if !self.trail.is_true(implied)
                && !self.trail.raise(implied, Reason::Arc(number as u32))
            {
                return false;
            }
        }
        for number in self.model.ordered.of(side) {
            let item = self.model.ordered.item(number);
            let implied = Literal::new(item.arc.to, new + item.arc.lag);
            if self.trail.is_true(implied) || self.trail.is_false(item.order) {
                continue;
            }
            let raised = if self.trail.is_true(item.order) {
                self.trail.raise(implied, Reason::Ordered(number as u32))
            } else if self.trail.is_false(implied) {
                self.trail
                    .raise(item.order.opposite(), Reason::Refused(number as u32))
            } else {
                continue;
            };
            if !raised {
                return false;
            }
        }
        true
    }

    fn follow_order(&mut self, side: Side, new: i32) -> bool {
        // The beginning of an order's range chooses nothing.
        if new != i32::from(!side.is_most()) {
            return true;
        }
        for number in self.model.of_order[side.index() - 2 * self.model.starts] {
            let arc = self.model.ordered.item(number as usize).arc;
            let implied = Literal::new(arc.to, self.trail.bound(arc.from) + arc.lag);
            if !self.trail.is_true(implied) && !self.trail.raise(implied, Reason::Ordered(number)) {
                return false;
            }
        }
        true
    }

    /// Collects what a literal was drawn from, all of it true before the entry that made it true.
    pub(super) fn explain(&mut self, position: usize, literal: Literal, why: &mut Vec<Literal>) {
        let entry = self.trail.entry(position);
        #[cfg(debug_assertions)]
        let start = why.len();
        match entry.reason {
            Reason::Root | Reason::Decision => {}
            Reason::Arc(number) => {
                let arc = self.model.arcs.item(number as usize);
                why.push(Literal::new(arc.from, literal.bound - arc.lag));
            }
            Reason::Ordered(number) => {
                let item = self.model.ordered.item(number as usize);
                why.push(item.order);
                why.push(Literal::new(item.arc.from, literal.bound - item.arc.lag));
            }
            Reason::Refused(number) => {
                let arc = self.model.ordered.item(number as usize).arc;
                // `from` reached so far that `to` would pass its limit; how they share the excess is free.
                let from = self.trail.bound_before(arc.from, position);
                why.push(Literal::new(arc.from, from));
                why.push(Literal::new(arc.to, from + arc.lag).opposite());
            }
            Reason::Full { resource, minute } => {
                self.model.tables[resource as usize].explain_push(
                    &self.trail,
                    position,
                    literal.side,
                    minute,
                    why,
                );
            }
            Reason::Clause(clause) => {
                self.clauses.touch(clause, self.conflicts);
                why.extend(self.clauses.of(clause)[1..].iter().map(|it| it.opposite()));
            }
        }
        #[cfg(debug_assertions)]
        super::check::explanation(self, position, literal, &why[start..]);
    }

    /// Collects what cannot hold together.
    pub(super) fn explain_clash(&mut self, clash: Clash, why: &mut Vec<Literal>) {
        match clash {
            Clash::NoValue => {
                // The latest entry went past the other side; no more of it is asked for than that.
                let position = self.trail.len() - 1;
                let side = self.trail.entry(position).side;
                let limit = self.trail.bound(side.other());
                self.explain(position, Literal::new(side, 1 - limit), why);
                why.push(Literal::new(side.other(), limit));
            }
            Clash::Overload { resource, minute } => {
                let table = &mut self.model.tables[resource as usize];
                let capacity = table.capacity;
                table.explain_use(&self.trail, self.trail.len(), minute, None, capacity, why);
            }
        }
    }

    pub(super) fn back_to(&mut self, level: usize) {
        self.trail.back_to(level);
        self.branching.back_to(level);
    }

    /// Tries a literal on a level of its own.
    pub(super) fn decide(&mut self, literal: Literal) {
        self.trail.open_level();
        self.branching.open_level();
        self.trail.raise(literal, Reason::Decision);
    }
}
