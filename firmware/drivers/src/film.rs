//! Film drive: motors by pulse width and direction, brakes, clamp, platen.

use crate::line::Line;
use embedded_hal::{digital::OutputPin, pwm::SetDutyCycle};
use stillframe_controller::io::FilmDrive;

/// Why an output could not be written.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum DriveError<P, M> {
    /// A line.
    Pin(P),
    /// A pulse-width output.
    Duty(M),
}

/// A motor: duty on one output, direction on a line (low: positive).
#[derive(Debug)]
pub struct Motor<P, M> {
    duty: M,
    reverse: Line<P>,
    counts: u16,
}

impl<P: OutputPin, M: SetDutyCycle> Motor<P, M> {
    /// Takes over its outputs, without driving them yet.
    pub fn new(duty: M, reverse: P) -> Self {
        Self { duty, reverse: Line::new(reverse), counts: 0 }
    }

    /// Drives it with a share of the supply voltage, −1…1; what is no number stops it. The direction changes only
    /// without duty.
    ///
    /// # Errors
    /// The outputs'.
    pub fn set(&mut self, share: f32) -> Result<(), DriveError<P::Error, M::Error>> {
        let reverse = share < 0.0;
        if reverse != self.reverse.is_high() {
            self.write(0)?;
        }
        self.reverse.set(reverse).map_err(DriveError::Pin)?;
        let most = self.duty.max_duty_cycle();
        let magnitude = if reverse { -share } else { share };
        // A conversion from float saturates, and turns what is no number into zero.
        let counts = ((magnitude * f32::from(most) + 0.5) as u16).min(most);
        self.write(counts)
    }

    fn write(&mut self, counts: u16) -> Result<(), DriveError<P::Error, M::Error>> {
        self.counts = counts;
        self.duty.set_duty_cycle(counts).map_err(DriveError::Duty)
    }

    /// Duty last written, in counts of the output.
    pub fn counts(&self) -> u16 {
        self.counts
    }

    /// Direction last written.
    pub fn reversed(&self) -> bool {
        self.reverse.is_high()
    }

    /// Its outputs, duty first.
    pub fn into_parts(self) -> (M, P) {
        (self.duty, self.reverse.into_pin())
    }
}

/// Everything that moves or holds film.
#[derive(Debug)]
pub struct Film<P, M> {
    /// Roller, supply and take-up motor.
    pub motors: [Motor<P, M>; 3],
    /// Speed of the compensating platen: one count of duty is one speed step.
    pub platen: M,
    platen_counts: u16,
    /// High releases the brakes.
    pub brake_off: Line<P>,
    /// High releases the clamp.
    pub clamp_off: Line<P>,
}

impl<P: OutputPin, M: SetDutyCycle> Film<P, M> {
    /// Takes over its outputs, without driving them yet.
    pub fn new(motors: [Motor<P, M>; 3], platen: M, brake_off: Line<P>, clamp_off: Line<P>) -> Self {
        Self { motors, platen, platen_counts: 0, brake_off, clamp_off }
    }

    /// Follows what is asked. Motors lose their duty before a brake or clamp goes on and get it after they are off.
    ///
    /// # Errors
    /// The outputs'.
    pub fn set(&mut self, drive: &FilmDrive) -> Result<(), DriveError<P::Error, M::Error>> {
        let duties = [drive.roller_duty, drive.supply_duty, drive.take_up_duty];
        if drive.brake {
            self.drive_motors(duties)?;
        }
        self.brake_off.set(!drive.brake).map_err(DriveError::Pin)?;
        self.clamp_off.set(!drive.clamp).map_err(DriveError::Pin)?;
        if !drive.brake {
            self.drive_motors(duties)?;
        }
        self.platen_counts = drive.platen_step.min(self.platen.max_duty_cycle());
        self.platen.set_duty_cycle(self.platen_counts).map_err(DriveError::Duty)
    }

    fn drive_motors(&mut self, duties: [f32; 3]) -> Result<(), DriveError<P::Error, M::Error>> {
        for (motor, duty) in self.motors.iter_mut().zip(duties) {
            motor.set(duty)?;
        }
        Ok(())
    }

    /// Duties last written: motors, then platen.
    pub fn counts(&self) -> [u16; 4] {
        let [roller, supply, take_up] = &self.motors;
        [roller.counts(), supply.counts(), take_up.counts(), self.platen_counts]
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use embedded_hal_mock::eh1::{
        digital::{Mock as Pin, State, Transaction as Write},
        pwm::{Mock as Pwm, Transaction as Duty},
    };

    fn motor(duties: &[Duty], levels: &[State]) -> Motor<Pin, Pwm> {
        let levels: std::vec::Vec<_> = levels.iter().map(|&level| Write::set(level)).collect();
        Motor::new(Pwm::new(duties), Pin::new(&levels))
    }

    fn done(motor: Motor<Pin, Pwm>) {
        let (mut duty, mut pin) = motor.into_parts();
        duty.done();
        pin.done();
    }

    #[test]
    fn a_motor_changes_direction_without_duty() {
        let duties = [
            Duty::max_duty_cycle(800),
            Duty::set_duty_cycle(400),
            Duty::set_duty_cycle(0),
            Duty::max_duty_cycle(800),
            Duty::set_duty_cycle(200),
        ];
        let mut motor = motor(&duties, &[State::Low, State::High]);
        motor.set(0.5).unwrap();
        motor.set(-0.25).unwrap();
        assert_eq!((motor.counts(), motor.reversed()), (200, true));
        done(motor);
    }

    #[test]
    fn too_much_is_held_at_full_and_no_number_is_a_stop() {
        let (most, full, stop) = (Duty::max_duty_cycle(800), Duty::set_duty_cycle(800), Duty::set_duty_cycle(0));
        let duties = [most.clone(), full, most.clone(), stop.clone(), most, stop];
        let mut motor = motor(&duties, &[State::Low, State::Low, State::Low]);
        for share in [7.5, f32::NAN, -0.0] {
            motor.set(share).unwrap();
        }
        done(motor);
    }
}
