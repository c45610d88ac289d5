//! What must be so at the moment of firing, apart from the inhibits that somebody throws.

use super::{chute::Chute, event::Event, settings::OrdnanceSettings};
use crate::math::{self, DEG};

/// Readings of the moment, of whichever side looks.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Readiness {
    /// Film cut, wound in and sealed.
    pub film_sealed: bool,
    /// The vehicle has turned to the retro attitude, its gyros are believed, and it has come to rest there.
    pub settled: bool,
    /// Angle between the attitude wanted and the one held, with what the vehicle may be wrong by, rad.
    pub pointing_error_rad: f32,
    /// Rate about any direction against the one wanted, rad/s.
    pub rate_rad_s: f32,
    /// The capsule says that it is armed, through the umbilical.
    pub capsule_armed: bool,
    /// Spin about the capsule's axis, rad/s.
    pub spin_rad_s: f32,
    /// The deceleration switch is closed.
    pub g_switch: bool,
    /// The backup timer has run out.
    pub timer_out: bool,
}

/// Proof that the moment is right for an event.
#[derive(Debug)]
pub struct Ready(Event);

impl Ready {
    /// The event.
    pub fn event(&self) -> Event {
        self.0
    }
}

impl Readiness {
    /// The proof for `event`. A reading that is not a number is never right.
    pub(super) fn proof(&self, event: Event, settings: &OrdnanceSettings, chute: &Chute) -> Option<Ready> {
        let right = match event {
            Event::CoverRelease => self.film_sealed && self.pointed(settings),
            Event::CapsuleSeparation => self.film_sealed && self.pointed(settings) && self.capsule_armed,
            Event::RetroIgnition => self.spinning(settings),
            Event::Drogue => chute.open(settings, self.timer_out),
            Event::Spin | Event::Despin | Event::MotorRelease | Event::Main => true,
        };
        right.then_some(Ready(event))
    }

    /// Attitude and rates within the limits for letting the capsule go.
    pub fn pointed(&self, settings: &OrdnanceSettings) -> bool {
        self.settled
            && self.pointing_error_rad <= settings.pointing_limit_deg * DEG
            && self.rate_rad_s <= settings.rate_limit_deg_s * DEG
    }

    /// Spin between its limits, either way round.
    pub fn spinning(&self, settings: &OrdnanceSettings) -> bool {
        const RPM: f32 = core::f32::consts::PI / 30.0;
        let spin_rad_s = math::abs(self.spin_rad_s);
        spin_rad_s >= settings.spin_min_rpm * RPM && spin_rad_s <= settings.spin_max_rpm * RPM
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: Readiness = Readiness {
        film_sealed: true,
        settled: true,
        pointing_error_rad: 1.9 * DEG,
        rate_rad_s: 0.4 * DEG,
        capsule_armed: true,
        spin_rad_s: core::f32::consts::TAU,
        g_switch: false,
        timer_out: false,
    };

    fn ready(readiness: Readiness, event: Event) -> bool {
        readiness.proof(event, &OrdnanceSettings::default(), &Chute::default()).is_some()
    }

    #[test]
    fn attitude_rates_and_film_are_judged_at_the_limits() {
        assert!(ready(GOOD, Event::CapsuleSeparation) && ready(GOOD, Event::CoverRelease));
        let bad = [
            Readiness { pointing_error_rad: 2.1 * DEG, ..GOOD },
            Readiness { pointing_error_rad: f32::NAN, ..GOOD },
            Readiness { rate_rad_s: 0.6 * DEG, ..GOOD },
            Readiness { rate_rad_s: f32::NAN, ..GOOD },
            Readiness { settled: false, ..GOOD },
            Readiness { film_sealed: false, ..GOOD },
        ];
        for readiness in bad {
            assert!(!ready(readiness, Event::CapsuleSeparation), "{readiness:?}");
            assert!(!ready(readiness, Event::CoverRelease), "{readiness:?}");
        }
        assert!(!ready(Readiness { capsule_armed: false, ..GOOD }, Event::CapsuleSeparation));
    }

    #[test]
    fn the_retro_motor_wants_its_spin() {
        // 60 rpm is 2π rad/s; 50 to 70 are allowed.
        for (rpm, good) in [(60.0, true), (-60.0, true), (49.0, false), (71.0, false), (0.0, false), (f32::NAN, false)]
        {
            let spin_rad_s = rpm * core::f32::consts::PI / 30.0;
            assert_eq!(ready(Readiness { spin_rad_s, ..GOOD }, Event::RetroIgnition), good, "{rpm}");
        }
    }
}
