//! The book in adversity. What a real database wrote and a test then damaged, cut, filled up or held is the outside judge here:
//! nothing below damages a book by way of the code that mends it.

mod crash;
mod damaged;
mod learnt;
mod refused;
mod replay;
mod together;
