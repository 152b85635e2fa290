//! What an activity uses when, laid out for one start and end.

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

/// Returns the upper outline of overlapping segments.
fn highest(laid: &[Segment]) -> Vec<Segment> {
    let mut outline: Vec<Segment> = Vec::new();
    for group in laid.chunk_by(|one, other| one.resource == other.resource) {
        let mut cuts: Vec<Time> = group
            .iter()
            .flat_map(|segment| [segment.from, segment.to])
            .collect();
        cuts.sort_unstable();
        cuts.dedup();
        for pair in cuts.windows(2) {
            let covering = group
                .iter()
                .filter(|segment| segment.from <= pair[0] && pair[1] <= segment.to);
            // Of two equal demands the one that spans more says better how far to move.
            let Some(top) =
                covering.max_by_key(|segment| (segment.quantity, segment.to - segment.from))
            else {
                continue;
            };
            let piece = Segment {
                from: pair[0],
                to: pair[1],
                ..*top
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
