//! From a project to variables: starts within their windows, lags that always hold, and one order for each pair
//! of activities that cannot run side by side.

use super::literal::{Literal, Side};
use super::timetable::{Task, Timetable};
use crate::schedule::project::Project;

/// A lag between two sides: `to` is at least `from + lag`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Arc {
    pub(super) from: Side,
    pub(super) to: Side,
    pub(super) lag: i32,
}

/// A lag that holds once an order is chosen.
#[derive(Clone, Copy, Debug)]
pub(super) struct OrderedArc {
    pub(super) order: Literal,
    pub(super) arc: Arc,
}

/// Two activities of which one must end before the other starts. The variable of their order is 1 where the
/// first comes first.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pair {
    pub(super) first: usize,
    pub(super) second: usize,
}

/// Everything the search works on, fixed from the beginning.
#[derive(Clone, Debug)]
pub(super) struct Model {
    /// Starts first, then orders.
    pub(super) ranges: Vec<(i32, i32)>,
    pub(super) starts: usize,
    pub(super) arcs: Grouped<Arc>,
    pub(super) ordered: Grouped<OrderedArc>,
    /// The two lags of each value of each order: `2 * pair` where the first comes first, and the one after.
    pub(super) of_order: Vec<[u32; 2]>,
    pub(super) pairs: Vec<Pair>,
    pub(super) tables: Vec<Timetable>,
    /// The resources each activity uses.
    pub(super) uses: Vec<Vec<u32>>,
}

/// Items in one row, with where those of each side begin.
#[derive(Clone, Debug)]
pub(super) struct Grouped<T> {
    items: Vec<T>,
    starts: Vec<u32>,
}

impl<T: Copy> Grouped<T> {
    fn new(sides: usize, mut items: Vec<T>, side: impl Fn(&T) -> Side) -> Self {
        items.sort_by_key(|item| side(item));
        let starts = (0..=sides)
            .map(|index| items.partition_point(|item| side(item).index() < index) as u32)
            .collect();
        Self { items, starts }
    }

    /// The numbers of a side's items.
    #[inline]
    pub(super) fn of(&self, side: Side) -> std::ops::Range<usize> {
        self.starts[side.index()] as usize..self.starts[side.index() + 1] as usize
    }

    #[inline]
    pub(super) fn item(&self, number: usize) -> T {
        self.items[number]
    }
}

/// No lag known. Two of these do not overflow when added.
const NONE: i32 = i32::MIN / 4;
/// Above so many activities the distances of all pairs are not worked out: they take the cube of it.
const MOST_DENSE: usize = 256;

/// More pairs than this are not given orders of their own: they would be looked at for every move.
const MOST_PAIRS: usize = 1 << 15;

/// The longest distances between starts.
struct Distances {
    count: usize,
    longest: Vec<i32>,
}

impl Distances {
    fn of(&self, from: usize, to: usize) -> i32 {
        self.longest[from * self.count + to]
    }

    /// Closes the distances of the given lags. None where they go round with a gain.
    fn new(count: usize, arcs: &[(usize, usize, i32)]) -> Option<Self> {
        let mut longest = vec![NONE; count * count];
        for node in 0..count {
            longest[node * count + node] = 0;
        }
        for &(from, to, lag) in arcs {
            let at = &mut longest[from * count + to];
            *at = lag.max(*at);
        }
        let mut row = vec![NONE; count];
        for via in 0..count {
            row.copy_from_slice(&longest[via * count..(via + 1) * count]);
            for from in 0..count {
                let head = longest[from * count + via];
                if head == NONE || from == via {
                    continue;
                }
                extend(&mut longest[from * count..(from + 1) * count], head, &row);
            }
        }
        let closed = Self { count, longest };
        (0..count)
            .all(|node| closed.of(node, node) == 0)
            .then_some(closed)
    }

    /// Adds a lag. Returns false where it goes round with a gain.
    fn add(&mut self, from: usize, to: usize, lag: i32) -> bool {
        if self.of(to, from) + lag > 0 {
            return false;
        }
        let row = self.longest[to * self.count..(to + 1) * self.count].to_vec();
        for start in 0..self.count {
            let head = self.of(start, from);
            if head > NONE / 2 {
                let at = start * self.count;
                extend(&mut self.longest[at..at + self.count], head + lag, &row);
            }
        }
        true
    }
}

fn extend(distances: &mut [i32], head: i32, row: &[i32]) {
    for (distance, &tail) in distances.iter_mut().zip(row) {
        // Wrapping only so that the loop has no branch: both are above `i32::MIN / 2`.
        *distance = head.wrapping_add(tail).max(*distance);
    }
}

impl Model {
    /// Returns the model of all plans that end by the horizon; None where there cannot be one.
    pub(super) fn new(project: &Project, horizon: i32) -> Option<Self> {
        let starts = project.durations.len();
        if starts == 0 || horizon < 0 {
            return None;
        }
        let over = |row: &Vec<i32>| row.iter().zip(&project.capacities).any(|(a, b)| a > b);
        if (project.demands.iter().zip(&project.durations))
            .any(|(row, &duration)| duration > 0 && over(row))
        {
            return None;
        }
        let last = starts - 1;
        let mut arcs = project.arcs.clone();
        for (activity, &duration) in project.durations.iter().enumerate() {
            if activity != 0 {
                arcs.push((0, activity, 0));
            }
            if activity != last {
                arcs.push((activity, last, duration));
            }
        }
        let mut pairs = disjoint(project);
        let mut ranges = vec![(0, horizon); starts];
        ranges[0] = (0, 0);
        if starts <= MOST_DENSE {
            let mut distances = Distances::new(starts, &arcs)?;
            arcs.extend(forced(project, &mut distances, &mut pairs)?);
            arcs.retain(|&(from, to, lag)| lag >= distances.of(from, to));
            for (activity, range) in ranges.iter_mut().enumerate() {
                range.0 = range.0.max(distances.of(0, activity));
                range.1 = range.1.min(horizon - distances.of(activity, last));
                range.1 = range.1.min(-distances.of(activity, 0));
            }
        }
        if pairs.len() > MOST_PAIRS {
            // The resources say as much, only later.
            pairs.clear();
        }
        arcs.sort_unstable();
        arcs.dedup();

        for &(from, to, lag) in &arcs {
            // The beginning stands at 0, so its lags are windows.
            if from == 0 {
                ranges[to].0 = ranges[to].0.max(lag);
            } else if to == 0 {
                ranges[from].1 = ranges[from].1.min(-lag);
            }
        }
        if ranges.iter().any(|&(least, most)| least > most) {
            return None;
        }
        arcs.retain(|&(from, to, _)| from != 0 && to != 0);
        ranges.extend(pairs.iter().map(|_| (0, 1)));
        let sides = 2 * ranges.len();
        let both = |from: usize, to: usize, lag: i32| {
            [
                Arc {
                    from: Side::least(from),
                    to: Side::least(to),
                    lag,
                },
                Arc {
                    from: Side::most(to),
                    to: Side::most(from),
                    lag,
                },
            ]
        };
        let ordered = Grouped::new(
            sides,
            ordered_arcs(project, starts, &pairs, both),
            |item: &OrderedArc| item.arc.from,
        );
        let mut of_order = vec![[0; 2]; 2 * pairs.len()];
        let mut count = vec![0; 2 * pairs.len()];
        for (number, item) in ordered.items.iter().enumerate() {
            let index = item.order.side.index() - 2 * starts;
            of_order[index][count[index]] = number as u32;
            count[index] += 1;
        }
        let (tables, uses) = tables(project);
        Some(Self {
            starts,
            arcs: Grouped::new(
                sides,
                arcs.iter()
                    .flat_map(|&(from, to, lag)| both(from, to, lag))
                    .collect(),
                |arc: &Arc| arc.from,
            ),
            ordered,
            of_order,
            pairs,
            tables,
            uses,
            ranges,
        })
    }
}

fn ordered_arcs(
    project: &Project,
    starts: usize,
    pairs: &[Pair],
    both: impl Fn(usize, usize, i32) -> [Arc; 2],
) -> Vec<OrderedArc> {
    let mut ordered = Vec::with_capacity(4 * pairs.len());
    for (number, pair) in pairs.iter().enumerate() {
        let variable = starts + number;
        for (order, from, to) in [
            (Literal::at_least(variable, 1), pair.first, pair.second),
            (Literal::at_most(variable, 0), pair.second, pair.first),
        ] {
            ordered.extend(
                both(from, to, project.durations[from]).map(|arc| OrderedArc { order, arc }),
            );
        }
    }
    ordered
}

/// The pairs that some resource has no room for at once.
fn disjoint(project: &Project) -> Vec<Pair> {
    let takes = |activity: usize| project.durations[activity] > 0;
    let mut pairs = Vec::new();
    for first in (0..project.durations.len()).filter(|&it| takes(it)) {
        for second in (first + 1..project.durations.len()).filter(|&it| takes(it)) {
            let both = (project.demands[first].iter()).zip(&project.demands[second]);
            if both
                .zip(&project.capacities)
                .any(|((a, b), capacity)| a + b > *capacity)
            {
                pairs.push(Pair { first, second });
            }
        }
    }
    pairs
}

/// Settles the pairs whose order the lags decide, until no more are, and keeps the others. Returns the lags this
/// adds; None where a pair has no order left.
fn forced(
    project: &Project,
    distances: &mut Distances,
    pairs: &mut Vec<Pair>,
) -> Option<Vec<(usize, usize, i32)>> {
    let mut added = Vec::new();
    loop {
        let before = added.len();
        for pair in pairs.iter() {
            for (one, other) in [(pair.first, pair.second), (pair.second, pair.first)] {
                let (lasts, others) = (project.durations[one], project.durations[other]);
                let apart = distances.of(one, other);
                if apart < lasts && apart + others > 0 {
                    if !distances.add(one, other, lasts) {
                        return None;
                    }
                    added.push((one, other, lasts));
                }
            }
        }
        pairs.retain(|pair| {
            distances.of(pair.first, pair.second) < project.durations[pair.first]
                && distances.of(pair.second, pair.first) < project.durations[pair.second]
        });
        if added.len() == before {
            return Some(added);
        }
    }
}

fn tables(project: &Project) -> (Vec<Timetable>, Vec<Vec<u32>>) {
    let mut uses = vec![Vec::new(); project.durations.len()];
    let mut tables = Vec::new();
    for (resource, &capacity) in project.capacities.iter().enumerate() {
        let tasks: Vec<Task> = (0..project.durations.len())
            .filter(|&it| project.demands[it][resource] > 0 && project.durations[it] > 0)
            .map(|it| Task {
                start: it as u32,
                duration: project.durations[it],
                demand: project.demands[it][resource],
            })
            .collect();
        let total: i64 = tasks.iter().map(|task| i64::from(task.demand)).sum();
        if total <= i64::from(capacity) {
            continue;
        }
        for task in &tasks {
            uses[task.start as usize].push(tables.len() as u32);
        }
        tables.push(Timetable::new(capacity, tasks));
    }
    (tables, uses)
}
