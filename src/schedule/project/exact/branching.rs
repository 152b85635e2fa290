//! What is tried next: what the latest conflicts were about, valued as the best known plan has it.
//!
//! A question is "does this variable reach this value?". Each that a conflict raises gains weight, and newer
//! conflicts weigh more (Moskewicz et al., "Chaff: engineering an efficient SAT solver", 2001, from memory), here
//! in whole numbers, so that every machine tries the same.

use super::literal::Literal;
use super::trail::Trail;

const NOWHERE: u32 = u32::MAX;
/// Weights are all shifted down when one would pass `1 << HIGH`.
const HIGH: u32 = 60;
const SHIFT: u32 = 40;
const FIRST: u64 = 1 << 10;
/// More questions are not kept, 48 MiB of them: over a long horizon neighbouring values are one question.
const MOST: i64 = 4 << 20;

/// The questions by weight, heaviest first.
#[derive(Clone, Debug)]
pub(super) struct Branching {
    /// So many bits of a value are not told apart.
    shift: u32,
    /// The first question of each variable; the last number is how many there are.
    base: Vec<u32>,
    /// Each variable's least value at the root.
    low: Vec<i32>,
    weight: Vec<u64>,
    /// Where each question stands in the heap.
    place: Vec<u32>,
    heap: Vec<u32>,
    gain: u64,
    /// Questions taken out because they were answered, level after level.
    taken: Vec<u32>,
    marks: Vec<u32>,
    /// The question whose level opens next.
    tried: Option<u32>,
}

impl Branching {
    /// Starts with no question asked, for variables of these ranges.
    pub(super) fn new(ranges: &[(i32, i32)]) -> Self {
        let questions = |range: &(i32, i32), shift: u32| {
            (i64::from(range.1 - range.0) + (1 << shift) - 1) >> shift
        };
        let mut shift = 0;
        while ranges
            .iter()
            .map(|range| questions(range, shift))
            .sum::<i64>()
            > MOST
        {
            shift += 1;
        }
        let mut base = Vec::with_capacity(ranges.len() + 1);
        let mut count = 0;
        for range in ranges {
            base.push(count);
            count += questions(range, shift) as u32;
        }
        base.push(count);
        Self {
            shift,
            base,
            low: ranges.iter().map(|&(least, _)| least).collect(),
            weight: vec![0; count as usize],
            place: vec![NOWHERE; count as usize],
            heap: Vec::new(),
            gain: FIRST,
            taken: Vec::new(),
            marks: Vec::new(),
            tried: None,
        }
    }

    /// The question a literal answers, whichever way.
    fn question(&self, literal: Literal) -> Option<u32> {
        let variable = literal.side.variable();
        let value = if literal.side.is_most() {
            1 - literal.bound
        } else {
            literal.bound
        };
        let offset = (value - self.low[variable] - 1) >> self.shift;
        let room = self.base[variable + 1] - self.base[variable];
        (offset >= 0 && (offset as u32) < room).then(|| self.base[variable] + offset as u32)
    }

    /// Gives weight to what a literal is about.
    pub(super) fn raise(&mut self, literal: Literal) {
        let Some(question) = self.question(literal) else {
            return;
        };
        let index = question as usize;
        self.weight[index] += self.gain;
        if self.place[index] == NOWHERE {
            self.insert(question);
        } else {
            self.rise(self.place[index] as usize);
        }
        if self.weight[index] >> HIGH != 0 {
            self.scale_down();
        }
    }

    /// Keeps the order of what weighs most, and forgets what was raised long ago.
    fn scale_down(&mut self) {
        for weight in &mut self.weight {
            *weight >>= SHIFT;
        }
        self.gain = (self.gain >> SHIFT).max(FIRST);
    }

    /// What was raised so far weighs less from now on.
    pub(super) fn decay(&mut self) {
        self.gain += self.gain / 16;
        if self.gain >> HIGH != 0 {
            self.scale_down();
        }
    }

    pub(super) fn open_level(&mut self) {
        self.marks.push(self.taken.len() as u32);
        self.taken.extend(self.tried.take());
    }

    pub(super) fn back_to(&mut self, level: usize) {
        let Some(&start) = self.marks.get(level) else {
            return;
        };
        while self.taken.len() > start as usize {
            if let Some(question) = self.taken.pop()
                && self.place[question as usize] == NOWHERE
            {
                self.insert(question);
            }
        }
        self.marks.truncate(level);
    }

    /// The heaviest question that is open: the variable and the value.
    pub(super) fn next(&mut self, trail: &Trail) -> Option<(usize, i32)> {
        while let Some(&question) = self.heap.first() {
            self.remove_first();
            let variable = self.base.partition_point(|&base| base <= question) - 1;
            let offset = (question - self.base[variable]) as i32;
            let value = self.low[variable] + 1 + (offset << self.shift);
            if trail.least(variable) < value && value <= trail.most(variable) {
                self.tried = Some(question);
                return Some((variable, value));
            }
            // It comes back with the level that answered it.
            self.taken.push(question);
        }
        None
    }

    fn insert(&mut self, question: u32) {
        let at = self.heap.len();
        self.heap.push(question);
        self.place[question as usize] = at as u32;
        self.rise(at);
    }

    /// Heavier first; ties to the smaller number.
    fn precedes(&self, one: u32, other: u32) -> bool {
        let (a, b) = (self.weight[one as usize], self.weight[other as usize]);
        a > b || (a == b && one < other)
    }

    fn rise(&mut self, mut at: usize) {
        let question = self.heap[at];
        while at > 0 {
            let above = (at - 1) / 2;
            if !self.precedes(question, self.heap[above]) {
                break;
            }
            self.heap[at] = self.heap[above];
            self.place[self.heap[at] as usize] = at as u32;
            at = above;
        }
        self.heap[at] = question;
        self.place[question as usize] = at as u32;
    }

    fn remove_first(&mut self) {
        let first = self.heap.swap_remove(0);
        self.place[first as usize] = NOWHERE;
        if self.heap.is_empty() {
            return;
        }
        let question = self.heap[0];
        let mut at = 0;
        loop {
            let mut below = 2 * at + 1;
            if below >= self.heap.len() {
                break;
            }
            if below + 1 < self.heap.len() && self.precedes(self.heap[below + 1], self.heap[below])
            {
                below += 1;
            }
            if !self.precedes(self.heap[below], question) {
                break;
            }
            self.heap[at] = self.heap[below];
            self.place[self.heap[at] as usize] = at as u32;
            at = below;
        }
        self.heap[at] = question;
        self.place[question as usize] = at as u32;
    }
}
