//! What a load will have the vehicle do: camera-ons with speeds, slit and hold, in order of time.

use stillframe_controller::{
    attitude::mode::Hold,
    programme::load::{Command, Load},
};

/// Speed in force from a time on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpeedFrom {
    /// From when, s.
    pub at_s: f64,
    /// Speed steps.
    pub step: u16,
    /// Entry that set it, counted from 0; none if no entry of this load did.
    pub entry: Option<usize>,
}

/// V/h sent beside the speeds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Expected {
    /// Entry, counted from 0.
    pub entry: usize,
    /// In 10 nrad/s.
    pub units: u32,
    /// Speed in force when it came.
    pub step: u16,
}

/// One camera-on.
#[derive(Clone, Debug, PartialEq)]
pub struct Burst {
    /// Entries that switch on and off, counted from 0.
    pub on: usize,
    /// None if the load leaves the camera on.
    pub off: Option<usize>,
    /// On, s.
    pub on_s: f64,
    /// Off, s: where the load leaves it on, when the vehicle's own limit ends it.
    pub off_s: f64,
    /// Slit or shutter setting.
    pub slit: u8,
    /// Ticks between pictures; 0 for a strip.
    pub interval_ticks: u16,
    /// Speeds, the first in force at camera-on.
    pub speeds: Vec<SpeedFrom>,
    /// Hold in force at camera-on, and since when, s.
    pub hold: (Hold, f64),
    /// First entry that takes the hold away from fine while the camera is on.
    pub hold_lost: Option<usize>,
    /// Last V/h that came before camera-on.
    pub expected: Option<Expected>,
}

impl Burst {
    /// Middle of the camera-on, s.
    pub fn middle_s(&self) -> f64 {
        0.5 * (self.on_s + self.off_s)
    }

    /// Speed in force at a time, in steps.
    pub fn step_at(&self, at_s: f64) -> SpeedFrom {
        let passed = self.speeds.iter().take_while(|speed| speed.at_s <= at_s).last();
        passed.or(self.speeds.first()).copied().unwrap_or(SpeedFrom { at_s, step: 0, entry: None })
    }
}

/// All that happens, in order of time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sequence {
    /// Camera-ons.
    pub bursts: Vec<Burst>,
    /// Entries that cut and seal, with their times, s.
    pub secures: Vec<(usize, f64)>,
    /// Time of the last entry, s.
    pub last_s: f64,
}

/// Entries in order of time; those at one tick keep the load's order, as the vehicle carries them out.
pub fn in_time(load: &Load) -> Vec<usize> {
    let mut order: Vec<usize> = (0..load.entries.len()).collect();
    order.sort_by_key(|&index| load.entries.get(index).map_or(0, |entry| entry.tick));
    order
}

/// What a load finds in force.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inherited {
    /// Image speed, in steps.
    pub step: u16,
    /// Hold.
    pub hold: Hold,
}

impl Default for Inherited {
    /// As the vehicle wakes.
    fn default() -> Self {
        Self { step: 0, hold: Hold::Fine }
    }
}

impl Inherited {
    /// What a load has put in force by a time.
    pub fn from(load: &Load, tick: u32) -> Self {
        let done = load.entries.iter().filter(|entry| entry.tick <= tick);
        done.fold(Self::default(), |now, entry| match entry.command {
            Command::Speed(step) => Self { step, ..now },
            Command::Hold(hold) => Self { hold, ..now },
            _ => now,
        })
    }
}

/// Follows a load through. What makes no sense is followed as the vehicle would; the rules name it apart.
pub fn follow(load: &Load, inherited: Inherited, longest_s: f64) -> Sequence {
    let mut done = Sequence::default();
    let mut speed = SpeedFrom { at_s: 0.0, step: inherited.step, entry: None };
    let mut hold = (inherited.hold, 0.0);
    let mut expected = None;
    let mut open: Option<Burst> = None;
    for index in in_time(load) {
        let Some(entry) = load.entries.get(index) else { continue };
        let at_s = f64::from(entry.tick) / 100.0;
        done.last_s = at_s;
        match entry.command {
            Command::Speed(step) => {
                speed = SpeedFrom { at_s, step, entry: Some(index) };
                if let Some(burst) = &mut open {
                    burst.speeds.push(speed);
                }
            }
            Command::Expect(units) => expected = Some(Expected { entry: index, units, step: speed.step }),
            Command::Hold(wanted) => {
                hold = (wanted, at_s);
                if let Some(burst) = open.as_mut().filter(|_| wanted != Hold::Fine) {
                    burst.hold_lost.get_or_insert(index);
                }
            }
            Command::Secure => done.secures.push((index, at_s)),
            Command::Receiver(_) | Command::OpenAfter(_) | Command::SafeAfter(_) => {}
            Command::CameraOn { .. } if open.is_some() => {}
            Command::CameraOn { slit, interval_ticks } => {
                let (speeds, off_s) = (vec![speed], at_s + longest_s);
                let expected = expected.take();
                let burst = Burst {
                    on: index,
                    off: None,
                    on_s: at_s,
                    off_s,
                    slit,
                    interval_ticks,
                    speeds,
                    hold,
                    hold_lost: None,
                    expected,
                };
                open = Some(burst);
            }
            Command::CameraOff => {
                if let Some(burst) = open.take() {
                    done.bursts.push(Burst { off: Some(index), off_s: at_s, ..burst });
                }
            }
        }
    }
    done.bursts.extend(open);
    done
}
