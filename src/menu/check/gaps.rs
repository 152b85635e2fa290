//! The order of steps: circles, and gaps that contradict one another.
//!
//! Every step is two moments, its start and its end. Whatever a menu says of order becomes "this moment is at
//! least so long after that one": the shortest and longest time of a step, the least and the most of a gap,
//! steps that end together. The gaps can hold exactly when no way around leads back to a moment later than
//! itself; such a way is looked for with the relaxation of Bellman and Ford (R. Bellman, "On a routing problem",
//! 1958; here for longest ways), and named edge by edge.
//!
//! Only what is certain is used: growing work counts with its fixed part and has no longest, a wait for the
//! clock has no longest, and a gap between a repeated step and one outside its repeat has no most, because it
//! may belong to another round.

use std::collections::{BTreeMap, BTreeSet};

use super::{Finding, Scope, Subject, instead_of, work};
use crate::menu::{Dish, Edge, Step};
use crate::time::Minutes;

/// Circles and contradictions named in one check; who mends these will check again.
const MOST_NAMED: usize = 20;

/// A sentence with more parts than this is not read to its end.
const MOST_PARTS: usize = 16;

/// The most relaxations made. Past it nothing more is said: a menu that large has thousands of steps, and the
/// planner finds the same contradiction.
const MOST_WORK: usize = 40_000_000;

/// A step by its dish's and its own place.
type Place = usize;

/// "`to` is at least `weight` after `from`"; moments are `2 × place` for a start, one more for an end.
struct Arc {
    from: usize,
    to: usize,
    weight: i64,
    why: Why,
    off: bool,
}

/// Where an arc comes from.
#[derive(Clone, Copy)]
enum Why {
    Takes,
    TakesAtMost,
    Gap { owner: Place },
    GapAtMost { owner: Place },
    Together { owner: Place },
}

struct Order<'m> {
    dishes: &'m [&'m Dish],
    scope: Scope,
    /// Each step with the place of its dish.
    steps: Vec<(usize, &'m Step)>,
    /// The first of several steps of one name.
    places: BTreeMap<(&'m str, &'m str), Place>,
    arcs: Vec<Arc>,
    findings: Vec<Finding>,
}

/// Returns what is wrong with the order of steps across dishes; and for each dish the least time from the first
/// start of whatever leads to it to the end of its last step.
pub(super) fn check(dishes: &[&Dish], scope: Scope) -> (Vec<Finding>, Vec<Minutes>) {
    let mut order = Order {
        dishes,
        scope,
        steps: Vec::new(),
        places: BTreeMap::new(),
        arcs: Vec::new(),
        findings: Vec::new(),
    };
    for (place, dish) in dishes.iter().enumerate() {
        for step in &dish.steps {
            let key = (dish.id.as_str(), step.id.as_str());
            order.places.entry(key).or_insert(order.steps.len());
            order.steps.push((place, step));
        }
    }
    order.add_arcs();
    order.circles();
    order.kept_until_earlier();
    let latest = order.contradictions();
    let mut longest = vec![Minutes::ZERO; dishes.len()];
    for (place, (dish, _)) in order.steps.iter().enumerate() {
        let end = latest.get(2 * place + 1).copied().unwrap_or(0);
        let end = Minutes(i32::try_from(end).unwrap_or(i32::MAX));
        longest[*dish] = longest[*dish].max(end);
    }
    (order.findings, longest)
}

impl Order<'_> {
    fn subject(&self, place: Place) -> Subject {
        let (dish, step) = self.steps[place];
        Subject::Step(self.dishes[dish].id.clone(), step.id.clone())
    }

    /// Returns a step's name in a sentence: with its dish where there are several.
    fn said(&self, place: Place) -> String {
        let (dish, step) = self.steps[place];
        if self.dishes.len() > 1 {
            format!("{}/{}", self.dishes[dish].id, step.id)
        } else {
            step.id.clone()
        }
    }

    fn find(&mut self, place: Place, name: &str) -> Option<Place> {
        let (dish, _) = self.steps[place];
        let Some((other, step)) = name.split_once('/') else {
            let dish = self.dishes[dish].id.as_str();
            return self.places.get(&(dish, name)).copied();
        };
        let found = self.places.get(&(other, step)).copied();
        // A dish card by itself cannot know the other dishes of a menu.
        if found.is_none() && (self.scope == Scope::Menu || other == self.dishes[dish].id) {
            let known = self.dishes.iter().find(|dish| dish.id == other);
            let (what, instead) = if let Some(dish) = known {
                let ids: Vec<_> = dish
                    .steps
                    .iter()
                    .map(|step| format!("{other}/{}", step.id))
                    .collect();
                let ids = ids.iter().map(String::as_str);
                (
                    format!("the dish \"{other}\" has no step called \"{step}\""),
                    instead_of(name, ids, "dish/step"),
                )
            } else {
                let ids = self.dishes.iter().map(|dish| dish.id.as_str());
                (
                    format!("no dish of this menu is called \"{other}\""),
                    instead_of(other, ids, "dish/step"),
                )
            };
            let finding = Finding::name(self.subject(place), what);
            self.findings.push(finding.at("after").instead(instead));
        }
        found
    }

    fn add(&mut self, from: usize, to: usize, weight: Minutes, why: Why) {
        self.arcs.push(Arc {
            from,
            to,
            weight: i64::from(weight.0),
            why,
            off: false,
        });
    }

    fn add_arcs(&mut self) {
        let mut repeated = BTreeMap::new();
        for (place, dish) in self.dishes.iter().enumerate() {
            for (round, repeat) in dish.repeats.iter().enumerate() {
                repeated.extend(repeat.steps.iter().map(|id| ((place, id.as_str()), round)));
            }
        }
        let rounds = self.steps.iter();
        let rounds: Vec<_> = rounds
            .map(|&(dish, step)| repeated.get(&(dish, step.id.as_str())).copied())
            .collect();
        for place in 0..self.steps.len() {
            let (dish, step) = self.steps[place];
            let (start, end) = (2 * place, 2 * place + 1);
            self.add(start, end, work::shortest(step), Why::Takes);
            if let Some(longest) = work::longest(step) {
                self.add(end, start, -longest, Why::TakesAtMost);
            }
            for after in &step.after {
                let Some(other) = self.find(place, &after.step) else {
                    continue;
                };
                let from = 2 * other + usize::from(after.from == Edge::End);
                let to = 2 * place + usize::from(after.to == Edge::End);
                self.add(
                    from,
                    to,
                    work::least(after.gap.least),
                    Why::Gap { owner: place },
                );
                let same_round = rounds[other] == rounds[place] && self.steps[other].0 == dish;
                let both_once = rounds[other].is_none() && rounds[place].is_none();
                if let Some(most) = after.gap.most.filter(|_| same_round || both_once) {
                    self.add(to, from, -most, Why::GapAtMost { owner: place });
                }
            }
            for name in &step.together {
                let dish = self.dishes[dish].id.as_str();
                let Some(&other) = self.places.get(&(dish, name.as_str())) else {
                    continue;
                };
                if other != place && rounds[other] == rounds[place] {
                    let (one, two) = (end, 2 * other + 1);
                    self.add(one, two, Minutes::ZERO, Why::Together { owner: place });
                    self.add(two, one, Minutes::ZERO, Why::Together { owner: place });
                }
            }
        }
    }

    /// Returns for each step the arcs by which others follow it, one's start after the other's end.
    fn followers(&self) -> Vec<Vec<(Place, usize)>> {
        let mut followers = vec![Vec::new(); self.steps.len()];
        for (number, arc) in self.arcs.iter().enumerate() {
            let ordered =
                matches!(arc.why, Why::Gap { .. }) && arc.from % 2 == 1 && arc.to % 2 == 0;
            if ordered && !arc.off {
                followers[arc.from / 2].push((arc.to / 2, number));
            }
        }
        followers
    }

    /// Names every circle of `after`, and takes the arc that closes it out of what follows.
    fn circles(&mut self) {
        let followers = self.followers();
        let mut state = vec![0_u8; self.steps.len()];
        for root in 0..self.steps.len() {
            // Depth first with a path of our own: (step, how many of its followers have been seen).
            let mut path = vec![(root, 0)];
            if state[root] != 0 {
                continue;
            }
            state[root] = 1;
            while let Some((step, seen)) = path.last_mut() {
                let Some(&(next, arc)) = followers[*step].get(*seen) else {
                    state[*step] = 2;
                    path.pop();
                    continue;
                };
                *seen += 1;
                match state[next] {
                    0 => {
                        state[next] = 1;
                        path.push((next, 0));
                    }
                    1 => {
                        self.arcs[arc].off = true;
                        let begin = path.iter().position(|&(step, _)| step == next);
                        let circle: Vec<_> = path[begin.unwrap_or(0)..]
                            .iter()
                            .map(|&(step, _)| step)
                            .collect();
                        self.name_circle(&circle);
                    }
                    _ => {}
                }
            }
        }
    }

    fn name_circle(&mut self, circle: &[Place]) {
        if self.findings.len() >= MOST_NAMED {
            return;
        }
        let first = circle[0];
        let what = if circle.len() == 1 {
            format!("{} waits for itself", self.said(first))
        } else {
            let back = circle.iter().rev().chain([&circle[circle.len() - 1]]);
            let names: Vec<_> = back.take(12).map(|&step| self.said(step)).collect();
            let more = if circle.len() > 11 { ", and so on" } else { "" };
            format!(
                "these steps wait for one another in a circle: {}{more}",
                names.join(" waits for ")
            )
        };
        let finding = Finding::limit(self.subject(first), what).at("after");
        self.findings
            .push(finding.instead("take one `after` out of the circle"));
    }

    /// Names kit that is kept until a step which comes before the one that takes it.
    fn kept_until_earlier(&mut self) {
        let followers = self.followers();
        for place in 0..self.steps.len() {
            let (dish, step) = self.steps[place];
            for keep in &step.keeps_kit {
                let key = (self.dishes[dish].id.as_str(), keep.until.as_str());
                let Some(&until) = self.places.get(&key) else {
                    continue;
                };
                if until == place || !leads_to(&followers, until, place) {
                    continue;
                }
                let what = format!(
                    "\"{}\" is kept until \"{}\", which comes before this step",
                    keep.kit, keep.until
                );
                let finding = Finding::limit(self.subject(place), what).at("keeps_kit");
                self.findings
                    .push(finding.instead("a step that comes after this one"));
            }
        }
    }

    /// Names every set of gaps that cannot hold together; returns the earliest each moment can be, counted from
    /// the first of all.
    fn contradictions(&mut self) -> Vec<i64> {
        let mut work_left = MOST_WORK;
        for _ in 0..MOST_NAMED {
            match self.relax(&mut work_left) {
                Ok(earliest) => return earliest,
                Err(way) if way.is_empty() => break,
                Err(way) => self.name_contradiction(&way),
            }
        }
        vec![0; 2 * self.steps.len()]
    }

    /// Returns the earliest of each moment, or the arcs of a way around that leads to later than itself; an
    /// empty way when there was too much to do.
    fn relax(&self, work_left: &mut usize) -> Result<Vec<i64>, Vec<usize>> {
        let mut earliest = vec![0_i64; 2 * self.steps.len()];
        let mut by: Vec<Option<usize>> = vec![None; earliest.len()];
        loop {
            let mut changed = false;
            for (number, arc) in self.arcs.iter().enumerate() {
                let reached = earliest[arc.from] + arc.weight;
                if !arc.off && reached > earliest[arc.to] {
                    earliest[arc.to] = reached;
                    by[arc.to] = Some(number);
                    changed = true;
                }
            }
            if !changed {
                return Ok(earliest);
            }
            if let Some(way) = self.way_around(&by) {
                return Err(way);
            }
            *work_left = work_left.saturating_sub(self.arcs.len() + by.len());
            if *work_left == 0 {
                return Err(Vec::new());
            }
        }
    }

    /// Returns the arcs of a circle among those by which each moment was last put off.
    fn way_around(&self, by: &[Option<usize>]) -> Option<Vec<usize>> {
        let mut seen = vec![0_usize; by.len()];
        for root in 0..by.len() {
            let mut at = root;
            while seen[at] == 0 {
                seen[at] = root + 1;
                match by[at] {
                    Some(arc) => at = self.arcs[arc].from,
                    None => break,
                }
            }
            if seen[at] != root + 1 || by[at].is_none() {
                continue;
            }
            // The walk came back to a moment of its own: from here it is the circle.
            let mut way = Vec::new();
            let begin = at;
            while let Some(arc) = by[at] {
                way.push(arc);
                at = self.arcs[arc].from;
                if at == begin {
                    way.reverse();
                    return Some(way);
                }
            }
        }
        None
    }

    fn name_contradiction(&mut self, way: &[usize]) {
        let excess: i64 = way.iter().map(|&arc| self.arcs[arc].weight).sum();
        let excess = Minutes(i32::try_from(excess).unwrap_or(i32::MAX));
        let mut said = BTreeSet::new();
        let mut parts: Vec<_> = way
            .iter()
            .map(|&arc| self.say(&self.arcs[arc]))
            .filter(|part| !part.is_empty() && said.insert(part.clone()))
            .take(MOST_PARTS + 1)
            .collect();
        if parts.len() > MOST_PARTS {
            parts.truncate(MOST_PARTS);
            parts.push("and so on".to_owned());
        }
        let owner = way.iter().find_map(|&arc| match self.arcs[arc].why {
            Why::GapAtMost { owner } => Some((owner, "after")),
            _ => None,
        });
        let owner = owner.or_else(|| {
            way.iter().find_map(|&arc| match self.arcs[arc].why {
                Why::Gap { owner } => Some((owner, "after")),
                Why::Together { owner } => Some((owner, "together")),
                _ => None,
            })
        });
        // Without this arc the way is open, and the next contradiction can be looked for.
        let cut = way
            .iter()
            .find(|&&arc| matches!(self.arcs[arc].why, Why::GapAtMost { .. }))
            .or(way.first());
        if let Some(&cut) = cut {
            self.arcs[cut].off = true;
        }
        let (owner, field) = owner.unwrap_or((self.arcs[way[0]].from / 2, "time"));
        let what = format!(
            "these gaps together ask for {excess} more than there is: {}",
            parts.join("; ")
        );
        self.findings.push(
            Finding::limit(self.subject(owner), what)
                .at(field)
                .instead(format!("give one of them {excess} more room")),
        );
    }

    fn say(&self, arc: &Arc) -> String {
        let moment = |node: usize| {
            let step = self.said(node / 2);
            match node % 2 {
                0 => format!("{step} starts"),
                _ => format!("{step} ends"),
            }
        };
        let length = Minutes(i32::try_from(arc.weight.abs()).unwrap_or(i32::MAX));
        match arc.why {
            Why::Takes if arc.weight == 0 => String::new(),
            Why::Takes => format!("{} takes at least {length}", self.said(arc.from / 2)),
            Why::TakesAtMost => format!("{} takes at most {length}", self.said(arc.from / 2)),
            Why::Gap { .. } if arc.weight == 0 => {
                format!("{} after {}", moment(arc.to), moment(arc.from))
            }
            Why::Gap { .. } => format!(
                "{} at least {length} after {}",
                moment(arc.to),
                moment(arc.from)
            ),
            Why::GapAtMost { .. } if arc.weight == 0 => {
                format!("{} straight on after {}", moment(arc.from), moment(arc.to))
            }
            Why::GapAtMost { .. } => format!(
                "{} within {length} after {}",
                moment(arc.from),
                moment(arc.to)
            ),
            Why::Together { .. } => {
                let mut names = [self.said(arc.from / 2), self.said(arc.to / 2)];
                names.sort();
                format!("{} and {} end together", names[0], names[1])
            }
        }
    }
}

/// Returns whether one step comes before another.
fn leads_to(followers: &[Vec<(Place, usize)>], from: Place, to: Place) -> bool {
    let mut seen = BTreeSet::from([from]);
    let mut open = vec![from];
    while let Some(step) = open.pop() {
        if step == to {
            return true;
        }
        let next = followers[step].iter().map(|&(next, _)| next);
        open.extend(next.filter(|&next| seen.insert(next)));
    }
    false
}
