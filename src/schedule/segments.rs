//! What an activity uses when, laid out for one start and end.

use std::collections::BinaryHeap;

use crate::schedule::problem::{Anchor, Demand, ResourceId, Time, Use};

/// A stretch in which an activity uses so much of a resource.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Segment {
    /// Of which.
    pub resource: ResourceId,
    /// How much.
    pub quantity: i32,
    /// The first minute.
    pub from: Time,
    /// The first minute after.
    pub to: Time,
    /// What moves it: the start or the end of the activity, or both.
    pub moves: Moves,
}

/// Which edge of the activity a segment moves with, when the end does not move with the start.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Moves {
    /// With the start.
    Start,
    /// With the end.
    End,
    /// It reaches from start to end.
    Both,
}

/// Returns what `demands` use over an activity placed at `[start, end)`: disjoint stretches for each resource.
///
/// Where two demands on one resource overlap, the larger holds: what is there for the one serves the other
/// as well.
pub fn segments(demands: &[Demand], start: Time, end: Time) -> Vec<Segment> {
    let mut laid: Vec<Segment> = Vec::with_capacity(demands.len());
    for demand in demands {
        // Whoever is there throughout looks as well; the outline would come to the same, look by look.
        let whole = |other: &Demand| {
            let same = other.resource == demand.resource && other.quantity >= demand.quantity;
            same && other.when == Use::Whole
        };
        if demand.when != Use::Whole && demands.iter().any(whole) {
            continue;
        }
        let mut lay = |from: Time, to: Time, moves| {
            let (from, to) = (from.max(start), to.min(end));
            if from < to {
                let Demand {
                    resource, quantity, ..
                } = *demand;
                laid.push(Segment {
                    resource,
                    quantity,
                    from,
                    to,
                    moves,
                });
            }
        };
        match demand.when {
            Use::Whole => lay(start, end, Moves::Both),
            Use::Part {
                anchor: Anchor::Start,
                from,
                to,
            } => {
                lay(start + from, start + to, Moves::Start);
            }
            Use::Part {
                anchor: Anchor::End,
                from,
                to,
            } => lay(end + from, end + to, Moves::End),
            Use::Every { every, length } => {
                let mut look = start.saturating_add(every.max(1));
                while look.saturating_add(length) <= end {
                    lay(look, look + length, Moves::Start);
                    look += every.max(1);
                }
            }
        }
    }
    laid.sort_by_key(|segment| (segment.resource, segment.from, segment.to));
    if laid
        .windows(2)
        .any(|pair| pair[0].resource == pair[1].resource && pair[1].from < pair[0].to)
    {
        laid = highest(&laid);
    }
    laid
}

/// Returns the upper outline of overlapping segments, which are sorted by resource and beginning.
///
/// One sweep with whatever is open kept by size: an oven looked at for two days is hundreds of segments, and this is
/// asked for each place that is tried.
fn highest(laid: &[Segment]) -> Vec<Segment> {
    let mut outline: Vec<Segment> = Vec::with_capacity(laid.len());
    let mut cuts: Vec<Time> = Vec::new();
    for group in laid.chunk_by(|one, other| one.resource == other.resource) {
        cuts.clear();
        cuts.extend(group.iter().flat_map(|it| [it.from, it.to]));
        cuts.sort_unstable();
        cuts.dedup();
        let mut open = BinaryHeap::new();
        let mut to_come = group.iter().enumerate().peekable();
        for pair in cuts.windows(2) {
            while let Some((at, segment)) = to_come.next_if(|(_, it)| it.from <= pair[0]) {
                // Of two equal demands the one that spans more says better how far to move.
                open.push((segment.quantity, segment.to - segment.from, at));
            }
            while open
                .peek()
                .is_some_and(|&(_, _, at)| group[at].to <= pair[0])
            {
                open.pop();
            }
            let Some(&(_, _, top)) = open.peek() else {
                continue;
            };
            let piece = Segment {
                from: pair[0],
                to: pair[1],
                ..group[top]
            };
            match outline.last_mut() {
                Some(last)
                    if last.to == piece.from
                        && last.resource == piece.resource
                        && last.quantity == piece.quantity
                        && last.moves == piece.moves =>
                {
                    last.to = piece.to;
                }
                _ => outline.push(piece),
            }
        }
    }
    outline
}

#[cfg(test)]
mod tests {
    use super::*;

    const HANDS: ResourceId = ResourceId(0);

    fn demand(quantity: i32, when: Use) -> Demand {
        Demand {
            resource: HANDS,
            quantity,
            when,
        }
    }

    #[test]
    fn looks_lie_whole_inside_the_activity() {
        let looks = segments(
            &[demand(
                1,
                Use::Every {
                    every: 30,
                    length: 2,
                },
            )],
            100,
            190,
        );
        let from: Vec<_> = looks.iter().map(|look| (look.from, look.to)).collect();
        assert_eq!(from, [(130, 132), (160, 162)]);
    }

    #[test]
    fn where_demands_overlap_the_larger_holds() {
        let put_on = demand(
            1,
            Use::Part {
                anchor: Anchor::Start,
                from: 0,
                to: 10,
            },
        );
        let take_off = demand(
            2,
            Use::Part {
                anchor: Anchor::End,
                from: -15,
                to: 0,
            },
        );
        let laid = segments(&[put_on, take_off], 0, 20);
        let shape: Vec<_> = laid
            .iter()
            .map(|piece| (piece.from, piece.to, piece.quantity))
            .collect();
        assert_eq!(shape, [(0, 5, 1), (5, 20, 2)]);
    }

    #[test]
    fn whoever_is_there_throughout_looks_as_well() {
        let look = Use::Every {
            every: 3,
            length: 1,
        };
        let throughout = demand(2, Use::Whole);
        let laid = segments(&[throughout, demand(2, look)], 0, 10_000);
        assert_eq!(laid.len(), 1);
        assert_eq!(laid[0].quantity, 2);
        let laid = segments(&[throughout, demand(3, look)], 0, 8);
        let shape: Vec<_> = laid.iter().map(|it| (it.from, it.quantity)).collect();
        assert_eq!(shape, [(0, 2), (3, 3), (4, 2), (6, 3), (7, 2)]);
    }

    #[test]
    fn each_minute_has_the_largest_that_covers_it() {
        for draw in 0..200 {
            let mut drawn = draw;
            let mut below = |count: i32| {
                drawn = crate::schedule::search::mix(drawn);
                (drawn % count as u64) as i32
            };
            let laid: Vec<Segment> = {
                let mut laid: Vec<Segment> = (0..12)
                    .map(|_| {
                        let (from, long) = (below(30), 1 + below(12));
                        Segment {
                            resource: ResourceId(below(2) as usize),
                            quantity: 1 + below(4),
                            from,
                            to: from + long,
                            moves: Moves::Start,
                        }
                    })
                    .collect();
                laid.sort_by_key(|it| (it.resource, it.from, it.to));
                laid
            };
            let outline = highest(&laid);
            for resource in [ResourceId(0), ResourceId(1)] {
                for minute in 0..45 {
                    let most = |of: &[Segment]| {
                        let covering = of.iter().filter(|it| {
                            it.resource == resource && it.from <= minute && minute < it.to
                        });
                        covering.map(|it| it.quantity).max()
                    };
                    assert_eq!(
                        most(&outline),
                        most(&laid),
                        "minute {minute} of draw {draw}"
                    );
                }
            }
            let disjoint = |pair: &[Segment]| {
                pair[0].resource != pair[1].resource || pair[0].to <= pair[1].from
            };
            assert!(outline.windows(2).all(disjoint));
        }
    }

    #[test]
    fn parts_are_cut_to_the_activity() {
        let part = demand(
            1,
            Use::Part {
                anchor: Anchor::Start,
                from: 0,
                to: 50,
            },
        );
        assert_eq!(segments(&[part], 0, 20)[0].to, 20);
        assert!(segments(&[part], 5, 5).is_empty());
    }
}
