//! At the stove: now and next, what calls, the handover, the wall, the clock; on the screen and from the command line.

mod attention;
mod clock;
mod commands;
mod decisions;
mod now;
