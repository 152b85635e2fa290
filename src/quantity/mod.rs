//! What units are worth, and amounts scaled to batches.
