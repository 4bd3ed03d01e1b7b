//! How long a crew takes.

use crate::source::{Citation, Mark};
use crate::tables::{TWO_FAMILY_DAYS_HIGH, TWO_FAMILY_DAYS_LOW, TWO_FAMILY_WALL_FT2};

/// What a crew does in a day, by its own figures.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Production {
    /// Net area of packed walls, slopes and floors, ft² a day.
    pub packed_ft2_per_day: Option<f64>,
    /// Area of open attic floor, ft² a day.
    pub attic_ft2_per_day: Option<f64>,
    /// Days for each job that no area explains.
    pub setup_days: f64,
}

/// Days of a crew.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CrewDays {
    /// At the quickest; the same as `high` by the crew's own figures.
    pub low: f64,
    /// At the slowest.
    pub high: f64,
    /// Whether the packed area goes by the crew's own figures, and not by common practice.
    pub own: bool,
    /// Whether an attic floor is left out, since no figure is given for it.
    pub attic_left_out: bool,
}

impl CrewDays {
    /// The middle of the range.
    pub fn middle(&self) -> f64 {
        f64::midpoint(self.low, self.high)
    }

    /// Where the days come from, where they are not the crew's own.
    pub fn citation(&self) -> Option<Citation> {
        (!self.own).then(|| {
            Citation::new(
                "common_practice",
                "an average two-family house takes a day and a half to two days",
                Mark::Practice,
            )
        })
    }
}

pub(crate) fn crew_days(packed_ft2: f64, attic_ft2: f64, production: &Production) -> CrewDays {
    let (low, high) = match production.packed_ft2_per_day {
        Some(rate) => (packed_ft2 / rate, packed_ft2 / rate),
        None => {
            let houses = packed_ft2 / TWO_FAMILY_WALL_FT2.value;
            (houses * TWO_FAMILY_DAYS_LOW.value, houses * TWO_FAMILY_DAYS_HIGH.value)
        }
    };
    let attic = production.attic_ft2_per_day.map_or(0.0, |rate| attic_ft2 / rate);
    let more = attic + production.setup_days;
    CrewDays {
        low: low + more,
        high: high + more,
        own: production.packed_ft2_per_day.is_some(),
        attic_left_out: attic_ft2 > 0.0 && production.attic_ft2_per_day.is_none(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Common practice, no source: an average two-family house takes a day and a half to two days.
    /// 2,400 ft² of net wall for it is a judgement of this project.
    #[test]
    fn a_two_family_house_takes_a_day_and_a_half_to_two_days() {
        let days = crew_days(2400.0, 0.0, &Production::default());
        assert_eq!((days.low, days.high, days.own), (1.5, 2.0, false));
        assert!(days.citation().is_some());
    }

    #[test]
    fn own_figures_by_hand() {
        let own = Production {
            packed_ft2_per_day: Some(1200.0),
            attic_ft2_per_day: Some(2000.0),
            setup_days: 0.25,
        };
        // 1800/1200 + 500/2000 + 0.25
        let days = crew_days(1800.0, 500.0, &own);
        assert_eq!((days.low, days.high, days.middle()), (2.0, 2.0, 2.0));
        assert!(days.citation().is_none() && !days.attic_left_out);
        assert!(crew_days(0.0, 500.0, &Production::default()).attic_left_out);
    }
}
