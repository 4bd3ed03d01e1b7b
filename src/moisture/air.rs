//! Moist air: what the rooms and the outdoors hold.

use crate::comfort::Temperature;
use crate::tables::{
    HUMIDITY_CLASS_5, HUMIDITY_CLASS_STEP, INDOOR_RH_COLD, INDOOR_RH_CROWDED, INDOOR_RH_RISE,
};
use crate::vapour::saturation_pressure_pa;

/// How damp the rooms are through the year.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum IndoorHumidity {
    /// The same relative humidity all year, 0 to 1.
    Fixed(f64),
    /// An internal humidity class of ISO 13788, 1 to 5: the room holds more vapour than the
    /// outdoors by the class's upper limit at 0 °C and below, and less and less more up to 20 °C.
    Class(u8),
    /// By the outdoor temperature (EN 15026): 35 % at -10 °C and below, 65 % at 20 °C and above;
    /// 5 % more where many people live.
    ByOutdoor {
        /// Whether many people live there.
        crowded: bool,
    },
}

impl IndoorHumidity {
    /// Reads `class_1` to `class_5`, `normal` or `crowded`.
    pub fn from_key(key: &str) -> Option<Self> {
        match key {
            "class_1" => Some(Self::Class(1)),
            "class_2" => Some(Self::Class(2)),
            "class_3" => Some(Self::Class(3)),
            "class_4" => Some(Self::Class(4)),
            "class_5" => Some(Self::Class(5)),
            "normal" => Some(Self::ByOutdoor { crowded: false }),
            "crowded" => Some(Self::ByOutdoor { crowded: true }),
            _ => None,
        }
    }

    /// The words that [`Self::from_key`] reads.
    pub const KEYS: [&'static str; 7] =
        ["class_1", "class_2", "class_3", "class_4", "class_5", "normal", "crowded"];

    /// Vapour pressure of the room, Pa; never above saturation.
    pub fn pressure_pa(self, room: Temperature, outdoor: &OutdoorMonth) -> f64 {
        let saturation = saturation_pressure_pa(room.c());
        let t = outdoor.temperature.c();
        let pressure = match self {
            Self::Fixed(rh) => rh * saturation,
            Self::Class(class) => {
                let most = match class {
                    5.. => HUMIDITY_CLASS_5.value,
                    class => HUMIDITY_CLASS_STEP.value * f64::from(class),
                };
                outdoor.pressure_pa() + most * (1.0 - t / 20.0).clamp(0.0, 1.0)
            }
            Self::ByOutdoor { crowded } => {
                let rise = INDOOR_RH_RISE.value * ((t + 10.0) / 30.0).clamp(0.0, 1.0);
                let more = if crowded { INDOOR_RH_CROWDED.value } else { 0.0 };
                (INDOOR_RH_COLD.value + rise + more) * saturation
            }
        };
        pressure.min(saturation)
    }
}

/// Mean outdoor air of a month.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutdoorMonth {
    /// Mean temperature.
    pub temperature: Temperature,
    /// Relative humidity, 0 to 1.
    pub rh: f64,
}

impl OutdoorMonth {
    /// Vapour pressure, Pa.
    pub fn pressure_pa(&self) -> f64 {
        self.rh * saturation_pressure_pa(self.temperature.c())
    }
}

/// Monthly means of a run of readings: mean temperature, and the humidity that gives the mean
/// vapour pressure at it, at most 1.
///
/// Each reading is its month (1 to 12), temperature in °C and relative humidity (0 to 1). `None`
/// where a month has no reading, or a reading is none: not finite, no such month or share.
pub fn monthly_means(
    readings: impl IntoIterator<Item = (u8, f64, f64)>,
) -> Option<[OutdoorMonth; 12]> {
    let mut sums = [(0_u32, 0.0, 0.0); 12];
    for (month, celsius, rh) in readings {
        let sum = sums.get_mut(usize::from(month.checked_sub(1)?))?;
        if !(-90.0..=70.0).contains(&celsius) || !(0.0..=1.0).contains(&rh) {
            return None;
        }
        sum.0 += 1;
        sum.1 += celsius;
        sum.2 += rh * saturation_pressure_pa(celsius);
    }
    let mut months = [OutdoorMonth { temperature: Temperature::of_c(0.0), rh: 0.0 }; 12];
    for (month, (count, celsius, pressure)) in months.iter_mut().zip(sums) {
        if count == 0 {
            return None;
        }
        let count = f64::from(count);
        let mean = celsius / count;
        month.temperature = Temperature::of_c(mean);
        month.rh = (pressure / count / saturation_pressure_pa(mean)).min(1.0);
    }
    Some(months)
}
