//! What a load is held against before it is taken: the vehicle's state, and what no load may ask.
//!
//! The ground holds a load against the same before it sends it. The vehicle does not rely on that.

use super::load::{Command, Entry, Load, LoadError, View};
use crate::{
    attitude::{mode::Hold, orbit::Ephemeris},
    contact::{OPEN_LEAST_S, OPEN_MOST_S, SAFE_LEAST_S, SAFE_MOST_S},
    exposure::ANY_SLIT,
    io::{TICK_S, TICKS_PER_S},
};

/// Furthest that an entry may lie ahead, s: ten days, more than the longest mission. What lies further is a past time
/// that has rolled over.
pub const FAR_S: u32 = 864_000;
/// Longest stretch with the receiver off, s: never longer than the longest time after which it opens by itself.
pub const CLOSED_MOST_S: u32 = OPEN_MOST_S;

/// What the vehicle holds a load against.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Against {
    /// Present tick.
    pub tick: u32,
    /// Counter of the load in force, if there is one.
    pub counter: Option<u16>,
    /// Longest time the camera may stay on, s.
    pub longest_camera_s: f32,
    /// Number of slit or shutter settings.
    pub slits: u8,
    /// Largest image speed, in speed steps.
    pub most_speed: u16,
    /// Image speed in force, in speed steps.
    pub speed: u16,
    /// Hold in force.
    pub hold: Hold,
    /// The film is cut, or has been told to be.
    pub secured: bool,
    /// Tick before which no camera-on makes sense: capture cannot be over. Zero once it is.
    pub ready_tick: u32,
    /// How film goes, and how much of it may.
    pub film: FilmLeft,
}

/// Film that a load may use.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FilmLeft {
    /// Film left, less the reserve, m.
    pub left_m: f32,
    /// Speed of one step where film runs with the image; none where it is moved between pictures.
    pub step_m_s: Option<f32>,
    /// Film moved for one picture, where it is moved between pictures, m.
    pub advance_m: f32,
    /// Shortest time between pictures that is obeyed, ticks.
    pub cycle_ticks: u16,
    /// Time for which film runs ahead of a camera-on, ticks.
    pub lead_ticks: u32,
}

impl FilmLeft {
    /// Film that runs in `ticks`, m.
    fn run_m(&self, speed: u16, ticks: u32) -> f32 {
        self.step_m_s.map_or(0.0, |step_m_s| f32::from(speed) * step_m_s * ticks as f32 * TICK_S)
    }

    /// Film moved between the pictures of a camera-on, m.
    fn stepped_m(&self, interval_ticks: u16, ticks: u32) -> f32 {
        if self.step_m_s.is_some() {
            return 0.0;
        }
        let interval = u32::from(interval_ticks.max(self.cycle_ticks).max(1));
        // One picture at the beginning and one after each interval.
        (ticks / interval + 1) as f32 * self.advance_m
    }
}

impl Against {
    /// Nothing known of the vehicle but its clock: a strip camera's load without limit of film. For tests, and for
    /// studies that step a programme alone.
    pub const fn alone(tick: u32) -> Self {
        Self {
            tick,
            counter: None,
            longest_camera_s: 600.0,
            slits: 4,
            most_speed: u16::MAX,
            speed: 0,
            hold: Hold::Fine,
            secured: false,
            ready_tick: 0,
            film: FilmLeft {
                left_m: f32::INFINITY,
                step_m_s: Some(1e-4),
                advance_m: 0.0,
                cycle_ticks: 1,
                lead_ticks: 0,
            },
        }
    }
}

/// Whether load counter `next` follows `last`: ahead of it by less than half the way round (as serial numbers in
/// RFC 1982), so that no counter is the last one for ever.
pub const fn follows(next: u16, last: u16) -> bool {
    let ahead = next.wrapping_sub(last);
    ahead != 0 && ahead < 0x8000
}

/// Where a walk through the entries stands.
struct Walk<'a> {
    against: &'a Against,
    /// Entry and tick of the camera-on, its interval, and the tick to which its film is reckoned.
    on: Option<On>,
    speed: u16,
    hold: Hold,
    secured: bool,
    /// Entry and tick of the receiver's off.
    closed: Option<(u16, u32)>,
    film_m: f32,
}

#[derive(Clone, Copy)]
struct On {
    number: u16,
    tick: u32,
    interval_ticks: u16,
    reckoned_tick: u32,
}

impl Load {
    /// Judges a load against the vehicle's state.
    ///
    /// # Errors
    /// The first thing wrong with it, naming the entry.
    pub fn check(&self, against: &Against) -> Result<(), LoadError> {
        judge(self.counter, &self.ephemeris, self.entries.iter().copied(), against)
    }
}

impl View<'_> {
    /// Judges a load where its bytes lie, as [`Load::check`].
    ///
    /// # Errors
    /// The first thing wrong with it, naming the entry.
    pub fn check(&self, against: &Against) -> Result<(), LoadError> {
        judge(self.counter, &self.ephemeris, self.entries(), against)
    }
}

#[inline(never)]
fn judge(
    counter: u16,
    ephemeris: &Ephemeris,
    entries: impl Iterator<Item = Entry>,
    against: &Against,
) -> Result<(), LoadError> {
    check_ephemeris(ephemeris)?;
    if against.counter.is_some_and(|last| !follows(counter, last)) {
        return Err(LoadError::Counter);
    }
    let mut walk = Walk {
        against,
        on: None,
        speed: against.speed,
        hold: against.hold,
        secured: against.secured,
        closed: None,
        film_m: 0.0,
    };
    let furthest = against.tick.saturating_add(FAR_S * TICKS_PER_S);
    let mut before = 0;
    for (number, entry) in entries.enumerate() {
        let number = number as u16;
        if entry.tick < before {
            return Err(LoadError::Order(number));
        }
        if entry.tick <= against.tick {
            return Err(LoadError::Past(number));
        }
        if entry.tick > furthest {
            return Err(LoadError::Far(number));
        }
        before = entry.tick;
        walk.take(number, entry.tick, entry.command)?;
    }
    walk.end()
}

fn check_ephemeris(e: &Ephemeris) -> Result<(), LoadError> {
    // A turn in 80 minutes to a day; decay up to 1e-8 rad/s² (re-entry within hours).
    let rate_ok = (32_000_000..=700_000_000).contains(&e.phase_per_tick);
    let decay_ok = e.half_acceleration_rad_s2 > -1e-8 && e.half_acceleration_rad_s2 < 1e-8;
    let tilt_ok = e.inclination_rad >= 0.0 && e.inclination_rad <= core::f32::consts::PI;
    let radius_ok = e.radius_ratio2 > 0.02 && e.radius_ratio2 < 1.0;
    if rate_ok && decay_ok && tilt_ok && radius_ok { Ok(()) } else { Err(LoadError::Ephemeris) }
}

impl Walk<'_> {
    fn take(&mut self, number: u16, tick: u32, command: Command) -> Result<(), LoadError> {
        match command {
            Command::CameraOn { slit, interval_ticks } => self.camera_on(number, tick, slit, interval_ticks),
            Command::CameraOff => self.camera_off(number, tick),
            Command::Speed(step) if step > self.against.most_speed => Err(LoadError::Entry(number)),
            Command::Speed(step) => {
                self.reckon(tick)?;
                self.speed = step;
                Ok(())
            }
            Command::Hold(hold) => {
                self.hold = hold;
                if self.on.is_some() && hold != Hold::Fine { Err(LoadError::Phase(number)) } else { Ok(()) }
            }
            Command::Secure if self.on.is_some() => Err(LoadError::Camera(number)),
            Command::Secure if self.secured => Err(LoadError::Phase(number)),
            Command::Secure => {
                self.secured = true;
                Ok(())
            }
            Command::Expect(_) => Ok(()),
            Command::Receiver(on) => self.receiver(number, tick, on),
            Command::OpenAfter(minutes) => timer(number, minutes, OPEN_LEAST_S, OPEN_MOST_S),
            Command::SafeAfter(minutes) => timer(number, minutes, SAFE_LEAST_S, SAFE_MOST_S),
        }
    }

    fn camera_on(&mut self, number: u16, tick: u32, slit: u8, interval_ticks: u16) -> Result<(), LoadError> {
        if self.on.is_some() {
            return Err(LoadError::Camera(number));
        }
        if slit >= self.against.slits && slit != ANY_SLIT {
            return Err(LoadError::Entry(number));
        }
        if self.secured || self.hold != Hold::Fine || tick < self.against.ready_tick {
            return Err(LoadError::Phase(number));
        }
        self.film_m += self.against.film.run_m(self.speed, self.against.film.lead_ticks);
        self.on = Some(On { number, tick, interval_ticks, reckoned_tick: tick });
        Ok(())
    }

    fn camera_off(&mut self, number: u16, tick: u32) -> Result<(), LoadError> {
        self.reckon(tick)?;
        let Some(on) = self.on.take() else { return Err(LoadError::Camera(number)) };
        let ticks = tick.saturating_sub(on.tick);
        if ticks as f32 > self.against.longest_camera_s * TICKS_PER_S as f32 {
            return Err(LoadError::TooLong(on.number));
        }
        self.film_m += self.against.film.stepped_m(on.interval_ticks, ticks);
        self.film_reaches(on.number)
    }

    /// Reckons the film of a camera-on up to `tick`.
    fn reckon(&mut self, tick: u32) -> Result<(), LoadError> {
        let Some(on) = &mut self.on else { return Ok(()) };
        self.film_m += self.against.film.run_m(self.speed, tick.saturating_sub(on.reckoned_tick));
        on.reckoned_tick = tick;
        let number = on.number;
        self.film_reaches(number)
    }

    fn film_reaches(&self, number: u16) -> Result<(), LoadError> {
        if self.film_m <= self.against.film.left_m { Ok(()) } else { Err(LoadError::Film(number)) }
    }

    fn receiver(&mut self, number: u16, tick: u32, on: bool) -> Result<(), LoadError> {
        match (on, self.closed) {
            (false, Some(_)) => return Err(LoadError::Receiver(number)),
            (false, None) => self.closed = Some((number, tick)),
            (true, Some((since, from))) if tick.saturating_sub(from) > CLOSED_MOST_S * TICKS_PER_S => {
                return Err(LoadError::Receiver(since));
            }
            (true, _) => self.closed = None,
        }
        Ok(())
    }

    fn end(self) -> Result<(), LoadError> {
        if self.on.is_some() {
            return Err(LoadError::LeftOn);
        }
        self.closed.map_or(Ok(()), |(number, _)| Err(LoadError::Receiver(number)))
    }
}

fn timer(number: u16, minutes: u16, least_s: u32, most_s: u32) -> Result<(), LoadError> {
    let seconds = u32::from(minutes) * 60;
    if (least_s..=most_s).contains(&seconds) { Ok(()) } else { Err(LoadError::Timer(number)) }
}

#[cfg(test)]
mod tests;
