//! Scores of how fast it is, whichever way it drives.

use super::episode::mean;
use super::list::rows;
use super::{Better, Kind, Meaning, Needs, Said, ScoreRow, Value};

rows! {
    /// How fast it gets.
    TOP_SPEED = ScoreRow {
        meaning: Meaning {
            name: "top speed",
            unit: "m/s",
            definition: "largest |v| of the body over the run",
            better: Better::More,
        },
        needs: Needs::Nothing,
        measure: |m| Value::Is(m.run.rows.iter().map(|row| row.speed_m_s().abs()).fold(0.0, f64::max)),
        said: Said {
            kind: Kind::Differs(1.0, "m/s"),
            more: "is {} faster at its fastest",
            less: "is {} slower at its fastest",
            happens: None,
        },
    };

    /// How fast it drives over the course.
    MEAN_SPEED = ScoreRow {
        meaning: Meaning {
            name: "mean speed",
            unit: "m/s",
            definition: "mean |v| of the body while the demand is not neutral",
            better: Better::More,
        },
        needs: Needs::Nothing,
        measure: |m| {
            let asked = || m.run.rows.iter().filter(|row| !row.seen.demand.is_neutral());
            let drives = asked().next();
            Value::from(drives.map(|_| mean(asked().map(|row| row.speed_m_s().abs()))))
        },
        said: Said {
            kind: Kind::Differs(1.0, "m/s"),
            more: "is {} faster over the course",
            less: "is {} slower over the course",
            happens: None,
        },
    };

    /// How fast half a throttle is.
    HALF_THROTTLE_SPEED = ScoreRow {
        meaning: Meaning {
            name: "half-throttle speed",
            unit: "m/s",
            definition: "steady |v| on level ground, of the surface at the course's start, half throttle held: mean \
                         over 0.5 s once two such means in turn differ by less than 0.5 %, or after 20 s",
            better: Better::More,
        },
        needs: Needs::HalfThrottle,
        measure: |m| Value::from(m.half_throttle().map(|found| found.speed_m_s)),
        said: Said {
            kind: Kind::Differs(1.0, "m/s"),
            more: "is {} faster at half throttle",
            less: "is {} slower at half throttle",
            happens: None,
        },
    };
}
