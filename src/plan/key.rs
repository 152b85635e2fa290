//! The name of one step of one batch, as the book keeps it and the command line takes it.

use std::fmt;
use std::str::FromStr;

/// Names one doing of a step: which dish, which step, and which part, round and batch of it.
///
/// Written `dish/step`, then `:part` for a part of a divided batch, `~2` from the second round, `#2` from the
/// second batch: `quince/boil`, `quince/boil~2`, `shells/bake#3`, `ice/colour:rose`. A first batch or round
/// carries no number, so that a dish which grows from one batch to two keeps the ticks of the first.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StepKey {
    /// The dish's id.
    pub dish: String,
    /// The step's id.
    pub step: String,
    /// The part, of a divided batch.
    pub part: Option<String>,
    /// The round, from 1.
    pub round: u32,
    /// The batch, from 1.
    pub batch: u32,
}

impl StepKey {
    /// Returns the key of a step's first (or only) doing.
    pub fn first(dish: impl Into<String>, step: impl Into<String>) -> Self {
        Self {
            dish: dish.into(),
            step: step.into(),
            part: None,
            round: 1,
            batch: 1,
        }
    }
}

impl fmt::Display for StepKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.dish, self.step)?;
        if let Some(part) = &self.part {
            write!(f, ":{part}")?;
        }
        if self.round > 1 {
            write!(f, "~{}", self.round)?;
        }
        if self.batch > 1 {
            write!(f, "#{}", self.batch)?;
        }
        Ok(())
    }
}

/// Why a text is not the name of a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotAStepKey;

impl fmt::Display for NotAStepKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a step is named dish/step, with :part, ~round or #batch behind it where there are several")
    }
}

impl std::error::Error for NotAStepKey {}

impl FromStr for StepKey {
    type Err = NotAStepKey;

    fn from_str(text: &str) -> Result<Self, NotAStepKey> {
        fn count(text: &str) -> Result<u32, NotAStepKey> {
            let number = text.parse().map_err(|_| NotAStepKey)?;
            if number == 0 || text.starts_with('+') {
                Err(NotAStepKey)
            } else {
                Ok(number)
            }
        }
        let (rest, batch) = match text.rsplit_once('#') {
            Some((rest, number)) => (rest, count(number)?),
            None => (text, 1),
        };
        let (rest, round) = match rest.rsplit_once('~') {
            Some((rest, number)) => (rest, count(number)?),
            None => (rest, 1),
        };
        let (dish, rest) = rest.split_once('/').ok_or(NotAStepKey)?;
        let (step, part) = match rest.split_once(':') {
            Some((step, part)) => (step, Some(part.to_owned())),
            None => (rest, None),
        };
        if dish.is_empty() || step.is_empty() || step.contains('/') || part.as_deref() == Some("") {
            return Err(NotAStepKey);
        }
        Ok(Self {
            dish: dish.to_owned(),
            step: step.to_owned(),
            part,
            round,
            batch,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_read_as_they_are_written() {
        for text in [
            "a/b",
            "a/b~2",
            "a/b#3",
            "a/b:rose~2#3",
            "long-dish/long-step:plain",
        ] {
            let key: StepKey = text.parse().expect(text);
            assert_eq!(key.to_string(), text);
        }
        assert_eq!(
            "a/b#1".parse::<StepKey>().map(|key| key.to_string()),
            Ok("a/b".to_owned())
        );
    }

    #[test]
    fn what_is_not_a_key_is_refused() {
        for text in [
            "", "a", "/b", "a/", "a/b#", "a/b#0", "a/b~x", "a/b/c", "a/b:",
        ] {
            assert!(text.parse::<StepKey>().is_err(), "{text:?}");
        }
    }
}
