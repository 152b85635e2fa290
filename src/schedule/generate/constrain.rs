//! Every constraint written so that what was planted keeps it.

use super::plant::{FORMS, HANDS, Joint, Kind, PLACES, Planted, SHELF};
use super::plant::{chamber_resource, in_chamber, uses};
use super::{Features, Lengths, Random, Scale};
use crate::schedule::problem::{
    ActivityId, Calendar, CalendarId, Coverage, Demand, Duration, Edge, GateId, Hold, Instance,
    Lag, Level, Mode, ResourceId, Time, Use, Weights, Wish,
};
use crate::schedule::solution::Placement;

/// Returns the planted schedule's instance with all that is asked of it, and the schedule.
pub(super) fn constrain(
    random: &mut Random,
    features: Features,
    planted: Planted,
) -> (Instance, Vec<Placement>) {
    let mut writing = Writing {
        random,
        features,
        lengths: planted.lengths,
        halves: halves(&planted),
        planted,
    };
    writing.lags();
    if features.holds {
        writing.holds();
    }
    writing.capacities();
    if features.calendars {
        writing.calendars();
    }
    writing.activities();
    if features.happened {
        writing.happened();
    }
    if features.wishes {
        writing.wishes();
    }
    // Last, because all else looks at the mode that was planted.
    if features.modes {
        writing.modes();
    }
    writing.weights();
    (writing.planted.instance, writing.planted.placements)
}

struct Writing<'r> {
    random: &'r mut Random,
    features: Features,
    lengths: Lengths,
    /// The open hours: each day's first and second half.
    halves: Vec<(Time, Time)>,
    planted: Planted,
}

fn halves(planted: &Planted) -> Vec<(Time, Time)> {
    let halved = planted.open.iter().flat_map(|&(from, to)| {
        let middle = from + (planted.lengths.close - planted.lengths.open) / 2;
        [(from, middle.min(to)), (middle.min(to), to)]
    });
    halved.filter(|(from, to)| from < to).collect()
}

impl Writing<'_> {
    fn placed(&self, activity: usize) -> Placement {
        self.planted.placements[activity]
    }

    fn at(&self, (activity, edge): (ActivityId, Edge)) -> Time {
        match edge {
            Edge::Start => self.placed(activity.0).start,
            Edge::End => self.placed(activity.0).end,
        }
    }

    fn lag(
        &mut self,
        from: (ActivityId, Edge),
        to: (ActivityId, Edge),
        least: Time,
        most: Option<Time>,
    ) {
        self.planted.instance.lags.push(Lag {
            from,
            to,
            least,
            most,
        });
    }

    fn lags(&mut self) {
        let short = self.lengths.short;
        for chain in self.planted.chains.clone() {
            for activity in chain.start..chain.end - 1 {
                let (one, next) = (ActivityId(activity), ActivityId(activity + 1));
                let gap = self.placed(next.0).start - self.placed(one.0).end;
                let (from, to) = ((one, Edge::End), (next, Edge::Start));
                match self.planted.joints[activity] {
                    Joint::Straight => self.lag(from, to, 0, Some(0)),
                    Joint::Within => {
                        let most = gap + self.random.between(0, short / 2);
                        self.lag(from, to, 0, Some(most));
                    }
                    Joint::After => {
                        let least = gap - self.random.between(0, gap / 2);
                        self.lag(from, to, least, None);
                    }
                    Joint::Free => self.lag(from, to, 0, None),
                }
                if self.random.percent(10) {
                    let between = self.placed(next.0).start - self.placed(one.0).start;
                    let least = between - self.random.between(0, short);
                    self.lag((one, Edge::Start), to, least, None);
                }
            }
        }
        for (one, other) in self.planted.together.clone() {
            let ends = |activity| (ActivityId(activity), Edge::End);
            self.lag(ends(one), ends(other), 0, Some(0));
        }
        let count = self.planted.placements.len();
        for _ in 0..count / 6 {
            let (one, other) = (self.random.below(count), self.random.below(count));
            let gap = self.placed(other).start - self.placed(one).end;
            let same =
                |chain: &std::ops::Range<usize>| chain.contains(&one) && chain.contains(&other);
            if gap < 0 || one == other || self.planted.chains.iter().any(same) {
                continue;
            }
            let close = self.features.gaps && gap < 4 * short && self.random.percent(30);
            let most = close.then(|| gap + self.random.between(0, short));
            let least = self.random.between(0, gap.min(short));
            self.lag(
                (ActivityId(one), Edge::End),
                (ActivityId(other), Edge::Start),
                least,
                most,
            );
        }
    }

    fn holds(&mut self) {
        for chain in self.planted.chains.clone() {
            let last = chain.end - 1;
            if chain.len() < 2 {
                continue;
            }
            let first = chain.start + self.random.below(chain.len() - 1);
            let until = first + 1 + self.random.below(last - first);
            if self.random.percent(60) {
                let edge = if self.random.percent(50) {
                    Edge::Start
                } else {
                    Edge::End
                };
                let quantity = self.random.between(1, 2);
                self.planted.instance.holds.push(Hold {
                    resource: FORMS,
                    quantity,
                    from: (ActivityId(first), Edge::Start),
                    to: (ActivityId(until), edge),
                });
            }
            if until < last && self.random.percent(60) {
                self.planted.instance.holds.push(Hold {
                    resource: SHELF,
                    quantity: 1,
                    from: (ActivityId(until), Edge::End),
                    to: (ActivityId(last), Edge::Start),
                });
            }
        }
    }

    /// Gives every resource what the plan uses of it, and sometimes one more.
    fn capacities(&mut self) {
        let earliest = self.planted.instance.earliest;
        let mut used = vec![vec![0; -earliest as usize]; self.planted.instance.resources.len()];
        let activities = self.planted.instance.activities.iter();
        for (activity, &placed) in activities.zip(&self.planted.placements) {
            uses(&activity.modes[0], placed, |resource, minute, quantity| {
                used[resource][(minute - earliest) as usize] += quantity;
            });
        }
        for hold in &self.planted.instance.holds {
            for minute in self.at(hold.from)..self.at(hold.to) {
                used[hold.resource.0][(minute - earliest) as usize] += hold.quantity;
            }
        }
        let cuts = self.cuts();
        for index in 0..used.len() {
            let resource = ResourceId(index);
            let most = |from: Time, to: Time| {
                let minutes =
                    &used[resource.0][(from - earliest) as usize..(to - earliest) as usize];
                minutes.iter().copied().max().unwrap_or(0)
            };
            let changes = self.features.shifts && ![PLACES, SHELF, FORMS].contains(&resource);
            let capacity = if changes {
                cuts.windows(2)
                    .map(|pair| {
                        let is_open = self.halves.iter().any(|half| half.0 == pair[0]);
                        let spare = i32::from(is_open && self.random.percent(30));
                        (pair[0], most(pair[0], pair[1]) + spare)
                    })
                    .collect()
            } else {
                let spare = i32::from(self.random.percent(25));
                vec![(earliest, (most(earliest, 0) + spare).max(1))]
            };
            self.planted.instance.resources[resource.0].capacity = capacity;
        }
        if self.features.overtime {
            let hands = &mut self.planted.instance.resources[HANDS.0];
            let mut regular = Vec::new();
            for &from in &cuts[..cuts.len() - 1] {
                let half = self.halves.iter().position(|half| half.0 == from);
                let less = match half {
                    Some(half) => i32::from(half % 2 == 1),
                    None => i32::MAX,
                };
                let amount = hands.capacity_at(from).saturating_sub(less).max(0);
                regular.push((from, amount));
            }
            hands.regular = Some(regular);
        }
        if self.features.levels {
            self.planted.instance.levels.push(Level {
                resource: HANDS,
                buckets: self.halves.clone(),
                weight: self.random.between(1, 3),
            });
        }
    }

    /// Returns where the open hours begin or end, from the beginning to the end of the horizon.
    fn cuts(&self) -> Vec<Time> {
        let instance = &self.planted.instance;
        let mut cuts = vec![instance.earliest, instance.latest];
        cuts.extend(self.halves.iter().flat_map(|&(from, to)| [from, to]));
        cuts.sort_unstable();
        cuts.dedup();
        cuts
    }

    fn calendars(&mut self) {
        let about = (self.lengths.day - self.lengths.close) / 2;
        let open = &self.planted.open;
        let wider = open.iter().map(|&(from, to)| (from - about, to + about));
        let every_other =
            |first: usize| self.halves.iter().skip(first).step_by(2).copied().collect();
        let calendars: [Vec<(Time, Time)>; 4] = [
            open.clone(),
            wider.collect(),
            every_other(0),
            every_other(1),
        ];
        let sets = self.planted.kinds.clone();
        for (activity, kind) in sets.into_iter().enumerate() {
            let edge = if self.random.percent(50) {
                Coverage::Start
            } else {
                Coverage::End
            };
            let mut wanted = match kind {
                Kind::Work => vec![(0, Coverage::Whole)],
                Kind::Heat | Kind::Bake => vec![(1, Coverage::Whole)],
                Kind::Wait => vec![(0, Coverage::Start)],
                Kind::Rest if self.random.percent(30) => vec![(1, edge)],
                Kind::Rest => Vec::new(),
            };
            if self.random.percent(15) {
                wanted.push((2 + self.random.below(2), edge));
            }
            let placed = self.placed(activity);
            wanted.retain(|&(calendar, coverage)| fits(&calendars[calendar], coverage, placed));
            self.planted.instance.activities[activity].calendars = wanted
                .into_iter()
                .map(|(calendar, coverage)| (CalendarId(calendar), coverage))
                .collect();
        }
        self.planted.instance.calendars = calendars.map(|windows| Calendar { windows }).into();
    }

    fn activities(&mut self) {
        let short = self.lengths.short;
        let lasts: Vec<usize> = self
            .planted
            .chains
            .iter()
            .map(|chain| chain.end - 1)
            .collect();
        for index in 0..self.planted.placements.len() {
            let placed = self.placed(index);
            let is_last = lasts.binary_search(&index).is_ok();
            let (features, random) = (self.features, &mut *self.random);
            let activity = &mut self.planted.instance.activities[index];
            activity.weight = match random.between(0, 9) {
                0 => 20,
                1..=3 => 5,
                _ => 1,
            };
            if features.bounds && random.percent(20) {
                activity.release = Some(placed.start - random.between(0, short));
            }
            if features.bounds && random.percent(if is_last { 60 } else { 15 }) {
                activity.deadline = Some(placed.end + random.between(0, short));
            }
            if features.due && random.percent(if is_last { 80 } else { 10 }) {
                activity.due = Some(placed.end + random.between(-short, short));
            }
            if features.announced && random.percent(60) {
                let moved = if random.percent(40) { short } else { 0 };
                activity.announced = Some(placed.start + random.between(-moved, moved));
            }
        }
    }

    /// Lets the first of all starts have happened, and nothing else start before the last of them.
    fn happened(&mut self) {
        let placements = &self.planted.placements;
        let mut order: Vec<usize> = (0..placements.len()).collect();
        order.sort_by_key(|&index| (placements[index].start, index));
        let (past, to_come) = order.split_at((order.len() * 8 / 100).max(1));
        let now = past.last().map_or(0, |&index| placements[index].start);
        for &index in past {
            let placed = placements[index];
            let end = (!self.random.percent(30)).then_some(placed.end);
            self.planted.instance.activities[index].fixed = Some((placed.start, end));
        }
        for &index in to_come {
            let activity = &mut self.planted.instance.activities[index];
            activity.release = activity.release.max(Some(now));
        }
    }

    fn wishes(&mut self) {
        let short = self.lengths.short;
        for chain in self.planted.chains.clone() {
            for activity in chain.start..chain.end - 1 {
                if !self.random.percent(40) {
                    continue;
                }
                let edge = if self.random.percent(80) {
                    Edge::End
                } else {
                    Edge::Start
                };
                let from = (ActivityId(activity), edge);
                let to = (ActivityId(activity + 1), Edge::Start);
                let gap = self.at(to) - self.at(from);
                let least = gap + self.random.between(-short, short);
                let most = least + self.random.between(0, short);
                let both = self.random.between(0, 2);
                let weight = self.random.between(1, 3);
                self.planted.instance.wishes.push(Wish {
                    from,
                    to,
                    least: (both != 0).then_some(least),
                    most: (both != 1).then_some(most),
                    weight,
                });
            }
        }
    }

    fn modes(&mut self) {
        for index in 0..self.planted.placements.len() {
            let kind = self.planted.kinds[index];
            let planted = self.planted.instance.activities[index].modes[0].clone();
            let Some(mut other) = self.other(index, kind, &planted) else {
                continue;
            };
            let activity = &mut self.planted.instance.activities[index];
            // What has begun has begun in one way.
            if activity.fixed.is_some() {
                continue;
            }
            let modes = &mut activity.modes;
            modes[0].cost = self.random.between(0, 3);
            other.cost = self.random.between(0, 3);
            if self.random.percent(50) {
                modes.push(other);
            } else {
                modes.insert(0, other);
                self.planted.placements[index].mode = 1;
            }
        }
    }

    /// Returns another way to do an activity of a kind.
    fn other(&mut self, activity: usize, kind: Kind, planted: &Mode) -> Option<Mode> {
        let mut other = planted.clone();
        let length = match planted.duration {
            Duration::Fixed(length) => length,
            Duration::Until { at_least, .. } => at_least,
        };
        let often = match kind {
            Kind::Bake => 100,
            Kind::Work | Kind::Heat => 45,
            Kind::Rest | Kind::Wait => 30,
        };
        if !self.random.percent(often) {
            return None;
        }
        let chains = &self.planted.chains;
        let pair = self
            .planted
            .pair(chains.partition_point(|chain| chain.end <= activity));
        match kind {
            Kind::Bake => {
                let mut demands = planted.demands.iter();
                let here = demands.any(|demand| demand.resource == chamber_resource(pair));
                other = in_chamber(planted, kind, pair + usize::from(here));
            }
            Kind::Work => {
                let two = planted.demands.iter().any(|demand| demand.quantity == 2);
                other.duration = Duration::Fixed(if two { 2 * length } else { (length + 1) / 2 });
                for demand in &mut other.demands {
                    demand.quantity = if two { 1 } else { 2 };
                }
            }
            Kind::Heat if self.features.gates && self.random.percent(50) => {
                other.duration = Duration::Until {
                    gate: GateId(0),
                    count: 1,
                    at_least: length,
                    then: self.lengths.touch,
                };
                other.demands = vec![whole(chamber_resource(pair + 1))];
            }
            Kind::Heat => {
                other.duration = Duration::Fixed(length * 3 / 2);
                other.demands = vec![whole(PLACES)];
            }
            Kind::Rest => other.duration = Duration::Fixed((length * 2 / 3).max(1)),
            Kind::Wait => other.duration = Duration::Fixed(length * 3 / 2),
        }
        Some(other)
    }

    fn weights(&mut self) {
        self.planted.instance.weights = Weights {
            late: 100,
            wish: 10,
            overtime: 20,
            uneven: 1,
            early: match self.planted.scale {
                Scale::Days => 10,
                Scale::Small => 2,
            },
            mode: 15,
            moved: 25,
            moved_by: 2,
        };
    }
}

fn whole(resource: ResourceId) -> Demand {
    Demand {
        resource,
        quantity: 1,
        when: Use::Whole,
    }
}

/// Returns whether a placement fits windows.
fn fits(windows: &[(Time, Time)], coverage: Coverage, placed: Placement) -> bool {
    windows.iter().any(|&(from, to)| match coverage {
        Coverage::Start => (from..to).contains(&placed.start),
        Coverage::End => from < placed.end && placed.end <= to,
        Coverage::Whole => from <= placed.start && placed.end <= to,
    })
}
