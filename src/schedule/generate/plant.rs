//! A schedule first: chains of steps placed backward from the end of the horizon.

use super::{Asked, Features, Lengths, Random, Scale};
use crate::schedule::problem::{
    Activity, Anchor, Demand, Duration, Gate, GateId, Instance, Mode, Resource, ResourceId,
    StateId, StateResource, Time, Use,
};
use crate::schedule::solution::Placement;

/// The resources of every instance, in its order.
pub(super) const HANDS: ResourceId = ResourceId(0);
pub(super) const PLACES: ResourceId = ResourceId(1);
pub(super) const SHELF: ResourceId = ResourceId(4);
pub(super) const FORMS: ResourceId = ResourceId(5);
/// Resources in an instance with two chambers; more chambers come after them.
const LEAST_RESOURCES: usize = 6;

/// For so many activities there is a pair of chambers, and every chain has its pair. A chamber is in one state at a
/// time: two that grew with the number of activities would make another kind of problem of a large instance, with
/// hundreds of steps round one thermostat. Where more is cooked there are more ovens, not larger ones; so a chamber has
/// as many steps around it at every size.
const PER_PAIR: usize = 300;

/// Returns how many pairs of chambers there are for so many activities.
fn pairs(count: usize) -> usize {
    (count / PER_PAIR).max(1)
}

/// Returns the resource of a chamber, which is also a state resource of the same number.
pub(super) fn chamber_resource(chamber: usize) -> ResourceId {
    ResourceId(match chamber {
        0 | 1 => 2 + chamber,
        more => LEAST_RESOURCES - 2 + more,
    })
}

const OPENINGS: GateId = GateId(0);

/// What a step is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// Hands throughout.
    Work,
    /// On a place, looked after.
    Heat,
    /// In one of two chambers.
    Bake,
    /// Left alone on the shelf.
    Rest,
    /// Left alone until a gate opens.
    Wait,
}

/// How a step was joined to the one after it, where its gap was not free.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Joint {
    /// Whenever.
    Free,
    /// At once.
    Straight,
    /// Within a short time.
    Within,
    /// Not before some time has passed.
    After,
}

/// A schedule and what it was made of.
#[derive(Debug)]
pub(super) struct Planted {
    /// Gates, states, and activities with the modes they were placed in, and nothing else.
    pub(super) instance: Instance,
    pub(super) placements: Vec<Placement>,
    pub(super) kinds: Vec<Kind>,
    /// For each activity, how it is joined to the next of its chain.
    pub(super) joints: Vec<Joint>,
    /// The chains, as ranges of activities.
    pub(super) chains: Vec<std::ops::Range<usize>>,
    /// Pairs that were made to end together.
    pub(super) together: Vec<(usize, usize)>,
    /// When work is possible at all.
    pub(super) open: Vec<(Time, Time)>,
    pub(super) lengths: Lengths,
    pub(super) scale: Scale,
}

impl Planted {
    /// Returns the first chamber of the pair that a chain has.
    pub(super) fn pair(&self, chain: usize) -> usize {
        let pairs = (self.instance.resources.len() - LEAST_RESOURCES) / 2 + 1;
        2 * (chain % pairs)
    }
}

/// Places chains until there are as many activities as asked for.
pub(super) fn plant(random: &mut Random, asked: Asked) -> Planted {
    let lengths = asked.scale.lengths();
    let mut ground = Ground::new(asked, lengths);
    let mut planted = Planted {
        instance: Instance {
            latest: 0,
            resources: vec![Resource::default(); ground.used.len()],
            gates: ground.gates(),
            states: ground.states(),
            ..Instance::default()
        },
        placements: Vec::new(),
        kinds: Vec::new(),
        joints: Vec::new(),
        chains: Vec::new(),
        together: Vec::new(),
        open: ground.open.clone(),
        lengths,
        scale: asked.scale,
    };
    while planted.placements.len() < asked.count {
        let (least, most) = lengths.chain;
        let drawn = random.between(least as i32, most as i32) as usize;
        let left = asked.count - planted.placements.len();
        // A chain of one is only made where one activity is asked for last.
        let length = if left <= drawn + 1 && left <= most + 1 {
            left
        } else {
            drawn
        };
        chain(random, asked.features, &mut ground, &mut planted, length);
    }
    let first = planted.placements.iter().map(|placed| placed.start).min();
    let first_day = ground.day_of(first.unwrap_or(0));
    let least_days = if asked.scale == Scale::Days || asked.count > 6 {
        3
    } else {
        2
    };
    let day = first_day.min(ground.last_day() - (least_days - 1) * lengths.day);
    planted.instance.earliest = day;
    planted.open.retain(|&(from, _)| from >= day);
    planted.instance.gates = planted
        .instance
        .gates
        .iter()
        .map(|gate| Gate {
            openings: gate
                .openings
                .iter()
                .copied()
                .filter(|&opening| opening >= day)
                .collect(),
        })
        .collect();
    if !asked.features.gates {
        planted.instance.gates.clear();
    }
    if !asked.features.states {
        planted.instance.states.clear();
    }
    planted
}

/// Places one chain, its last step first.
fn chain(
    random: &mut Random,
    features: Features,
    ground: &mut Ground,
    planted: &mut Planted,
    length: usize,
) {
    let first = planted.placements.len();
    let lengths = ground.lengths;
    let pair = planted.pair(planted.chains.len());
    let mut steps: Vec<(Kind, Joint, Mode, Placement)> = Vec::with_capacity(length);
    let mut waits = if lengths.chain.1 > 5 { 2 } else { 1 };
    let mut by = -random.between(0, lengths.short);
    let before = planted.chains.last().map(|chain| chain.end - 1);
    for at in 0..length {
        let mut kind = kind(random, features);
        if kind == Kind::Wait {
            if waits == 0 || at == 0 {
                kind = Kind::Work;
            } else {
                waits -= 1;
            }
        }
        let joint = joint(random, features);
        let end = match (at, joint) {
            (0, _) | (_, Joint::Straight) => by,
            (_, Joint::Free) => by - random.between(0, lengths.short / 4),
            (_, Joint::Within) => by - random.between(0, lengths.short / 2),
            (_, Joint::After) => by - random.between(1, lengths.short),
        };
        let mode = mode(random, features, kind, lengths);
        let together = before
            .filter(|_| at == 0 && features.gaps && random.percent(30))
            .map(|before| (before, planted.placements[before].end));
        if let Some((before, end)) = together
            && let Some(placed) = ground.place(&planted.instance, kind, &mode, pair, end, true)
        {
            planted.together.push((before, first + length - 1));
            by = placed.1.start;
            steps.push((kind, joint, placed.0, placed.1));
            continue;
        }
        let exact = at > 0 && joint == Joint::Straight;
        let straight = exact
            .then(|| ground.place(&planted.instance, kind, &mode, pair, end, true))
            .flatten();
        let joint = if exact && straight.is_none() {
            Joint::Within
        } else {
            joint
        };
        let (mode, placed) = straight
            .or_else(|| ground.place(&planted.instance, kind, &mode, pair, end, false))
            .unwrap_or_else(|| ground.anywhere(&planted.instance, mode, end));
        by = placed.start;
        steps.push((kind, joint, mode, placed));
    }
    for (kind, joint, mode, placed) in steps.into_iter().rev() {
        planted.instance.activities.push(Activity {
            modes: vec![mode],
            ..Activity::default()
        });
        planted.placements.push(placed);
        planted.kinds.push(kind);
        planted.joints.push(joint);
    }
    planted.chains.push(first..first + length);
}

fn kind(random: &mut Random, features: Features) -> Kind {
    match random.between(0, 99) {
        0..=39 => Kind::Work,
        40..=59 => Kind::Heat,
        60..=74 => Kind::Bake,
        75..=87 => Kind::Rest,
        _ if features.gates => Kind::Wait,
        _ => Kind::Rest,
    }
}

fn joint(random: &mut Random, features: Features) -> Joint {
    match random.between(0, 99) {
        0..=14 if features.gaps => Joint::Straight,
        15..=39 if features.gaps => Joint::Within,
        40..=54 => Joint::After,
        _ => Joint::Free,
    }
}

/// Returns the mode a step of a kind is planted in; in which chamber is for [`Ground::place`] to say.
fn mode(random: &mut Random, features: Features, kind: Kind, lengths: Lengths) -> Mode {
    let whole = |resource, quantity| Demand {
        resource,
        quantity,
        when: Use::Whole,
    };
    let mut between = |(least, most)| random.between(least, most);
    let mut mode = Mode {
        duration: Duration::Fixed(0),
        demands: Vec::new(),
        states: Vec::new(),
        cost: 0,
    };
    match kind {
        Kind::Work => {
            mode.duration = Duration::Fixed(between(lengths.work));
            let hands = if random.percent(15) { 2 } else { 1 };
            mode.demands.push(whole(HANDS, hands));
        }
        Kind::Heat => {
            mode.duration = Duration::Fixed(between(lengths.heat));
            mode.demands.push(whole(PLACES, 1));
            mode.demands.extend(attention(features, lengths));
            if features.parts && random.percent(50) {
                mode.demands.push(Demand {
                    resource: HANDS,
                    quantity: 1,
                    when: Use::Every {
                        every: lengths.every,
                        length: lengths.look,
                    },
                });
            }
        }
        Kind::Bake => {
            mode.duration = Duration::Fixed(between(lengths.bake));
            let trays = random.between(1, 2);
            mode.demands.push(whole(chamber_resource(0), trays));
            mode.demands.extend(attention(features, lengths));
            if features.states {
                mode.states
                    .push((StateId(0), 120 + 30 * random.between(0, 2)));
            }
        }
        Kind::Rest => {
            mode.duration = Duration::Fixed(between(lengths.rest));
            mode.demands.push(whole(SHELF, 1));
        }
        Kind::Wait => {
            mode.duration = Duration::Until {
                gate: OPENINGS,
                count: 1,
                at_least: between(lengths.wait),
                then: between(lengths.then),
            };
            mode.demands.push(whole(SHELF, 1));
        }
    }
    mode
}

/// Returns the hands that put on and take off, or that stay where demands have no parts.
fn attention(features: Features, lengths: Lengths) -> Vec<Demand> {
    let of = |when| Demand {
        resource: HANDS,
        quantity: 1,
        when,
    };
    if !features.parts {
        return vec![of(Use::Whole)];
    }
    vec![
        of(Use::Part {
            anchor: Anchor::Start,
            from: 0,
            to: lengths.touch,
        }),
        of(Use::Part {
            anchor: Anchor::End,
            from: -lengths.touch,
            to: 0,
        }),
    ]
}

/// What is in use so far, minute by minute.
struct Ground {
    lengths: Lengths,
    /// The first minute of the first day.
    base: Time,
    open: Vec<(Time, Time)>,
    used: Vec<Vec<i32>>,
    /// What is aimed at; a step that finds no room makes room.
    aim: Vec<i32>,
    /// For each chamber, what stands in it in which state.
    chambers: Vec<Vec<(i32, Placement)>>,
}

impl Ground {
    fn new(asked: Asked, lengths: Lengths) -> Self {
        // How many days before the end anything may be planted.
        let days = match asked.scale {
            Scale::Days => 12,
            Scale::Small => 3,
        };
        let base = -lengths.end - (days - 1) * lengths.day;
        let open = (0..days)
            .map(|day| base + day * lengths.day)
            .map(|day| (day + lengths.open, (day + lengths.close).min(0)))
            .collect();
        let pairs = pairs(asked.count);
        let many = |per: usize| (asked.count / per) as i32;
        let trays = 2 + many(100 * pairs);
        let mut aim = vec![2 + many(40), 2 + many(40), trays, trays, i32::MAX, i32::MAX];
        aim.resize(LEAST_RESOURCES + 2 * (pairs - 1), trays);
        Self {
            lengths,
            base,
            open,
            used: vec![vec![0; -base as usize]; aim.len()],
            aim,
            chambers: vec![Vec::new(); 2 * pairs],
        }
    }

    fn last_day(&self) -> Time {
        -self.lengths.end
    }

    /// Returns the beginning of the day of a moment.
    fn day_of(&self, time: Time) -> Time {
        time - (time - self.base).rem_euclid(self.lengths.day)
    }

    fn gates(&self) -> Vec<Gate> {
        vec![Gate {
            openings: self.open.iter().map(|&(from, _)| from).collect(),
        }]
    }

    fn states(&self) -> Vec<StateResource> {
        let change = self.lengths.change;
        vec![StateResource { change }; self.chambers.len()]
    }

    /// Places a step as late as there is room for it to end by `by`, or exactly then; returns the mode with its
    /// chamber of the `pair` chosen, or `None` when there is no room within three days.
    fn place(
        &mut self,
        instance: &Instance,
        kind: Kind,
        mode: &Mode,
        pair: usize,
        by: Time,
        exact: bool,
    ) -> Option<(Mode, Placement)> {
        let earliest = self.base.max(self.day_of(by) - 2 * self.lengths.day);
        let chambers = if kind == Kind::Bake {
            pair..pair + 2
        } else {
            0..1
        };
        let mut start = instance.latest_start(mode, by)?;
        while start >= earliest {
            let end = instance.end_of(mode, start)?;
            if exact && end < by {
                return None;
            }
            for chamber in chambers.clone() {
                let mode = in_chamber(mode, kind, chamber);
                let placed = Placement {
                    mode: 0,
                    start,
                    end,
                };
                if self.is_open(kind, placed) && self.has_room(&mode, placed) {
                    self.take(&mode, placed);
                    return Some((mode, placed));
                }
            }
            start -= if exact { 1 } else { self.lengths.grid };
        }
        None
    }

    /// Places a step without asking for room: what it uses will be there.
    fn anywhere(&mut self, instance: &Instance, mode: Mode, by: Time) -> (Mode, Placement) {
        // Where it would stand among other states, it needs none; where no gate opens, it does not wait.
        let mut mode = Mode {
            states: Vec::new(),
            ..mode
        };
        let start = instance.latest_start(&mode, by);
        let start = start
            .filter(|&start| start >= self.base)
            .unwrap_or_else(|| {
                mode.duration = Duration::Fixed(0);
                by.max(self.base)
            });
        let end = instance.end_of(&mode, start).unwrap_or(start);
        let placed = Placement {
            mode: 0,
            start,
            end,
        };
        self.take(&mode, placed);
        (mode, placed)
    }

    fn is_open(&self, kind: Kind, placed: Placement) -> bool {
        let within = |from: Time, to: Time| {
            let open = &self.open;
            open.iter().any(|window| window.0 <= from && to <= window.1)
        };
        match kind {
            Kind::Work | Kind::Heat | Kind::Bake => within(placed.start, placed.end),
            Kind::Rest => true,
            Kind::Wait => within(placed.start, placed.start + 1),
        }
    }

    fn has_room(&self, mode: &Mode, placed: Placement) -> bool {
        let mut room = true;
        uses(mode, placed, |resource, minute, quantity| {
            let used = self.used[resource][(minute - self.base) as usize];
            room &= quantity <= self.aim[resource].saturating_sub(used);
        });
        room && mode.states.iter().all(|&(state, value)| {
            self.chambers[state.0].iter().all(|&(other, there)| {
                let change = self.lengths.change;
                other == value
                    || there.end + change <= placed.start
                    || placed.end + change <= there.start
            })
        })
    }

    fn take(&mut self, mode: &Mode, placed: Placement) {
        let (base, used) = (self.base, &mut self.used);
        uses(mode, placed, |resource, minute, quantity| {
            used[resource][(minute - base) as usize] += quantity;
        });
        for &(state, value) in &mode.states {
            self.chambers[state.0].push((value, placed));
        }
    }
}

/// Returns the mode with its demand and state moved to a chamber.
pub(super) fn in_chamber(mode: &Mode, kind: Kind, chamber: usize) -> Mode {
    let mut mode = mode.clone();
    if kind == Kind::Bake {
        for demand in &mut mode.demands {
            // All but the hands at its edges.
            if demand.resource != HANDS {
                demand.resource = chamber_resource(chamber);
            }
        }
        for (state, _) in &mut mode.states {
            *state = StateId(chamber);
        }
    }
    mode
}

/// Calls `each` with every resource, minute and quantity that a mode uses: the largest of its demands.
pub(super) fn uses(mode: &Mode, placed: Placement, mut each: impl FnMut(usize, Time, i32)) {
    let mut resources: Vec<ResourceId> = mode.demands.iter().map(|it| it.resource).collect();
    resources.sort_unstable();
    resources.dedup();
    for resource in resources {
        let demands = || {
            mode.demands
                .iter()
                .filter(move |it| it.resource == resource)
        };
        for minute in placed.start..placed.end {
            let holds = |demand: &&Demand| match demand.when {
                Use::Whole => true,
                Use::Part { anchor, from, to } => {
                    let edge = match anchor {
                        Anchor::Start => placed.start,
                        Anchor::End => placed.end,
                    };
                    (edge + from..edge + to).contains(&minute)
                }
                Use::Every { every, length } => {
                    let into = (minute - placed.start) % every;
                    let look = minute - into;
                    look > placed.start && into < length && look + length <= placed.end
                }
            };
            let quantity = demands().filter(holds).map(|demand| demand.quantity).max();
            if let Some(quantity) = quantity {
                each(resource.0, minute, quantity);
            }
        }
    }
}
