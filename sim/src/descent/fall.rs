//! From ignition to the ground: burn, entry, drogue, main canopy, touchdown. A point mass with three degrees of
//! freedom; the axis of thrust stays where spin holds it.

use super::air::{Surroundings, by_height};
use super::heating;
use super::integrate::{Closeness, Point, Stop, Whole, advance};
use super::recovery::{Canopies, Chute, Opening, Timers};
use super::retro::{Burn, G0};
use crate::world::Vec3;

/// Height at which entry is counted from, m.
pub const INTERFACE_M: f64 = 120_000.0;
/// A capsule that has not come down after this long stays in orbit for this program, s: two revolutions and more.
const LONGEST_S: f64 = 12_000.0;

/// The capsule as it flies in one descent.
#[derive(Clone, Debug)]
pub struct Body {
    /// Mass at ignition, kg.
    pub start_kg: f64,
    /// Mass through entry, kg: all but the motor, which is left behind with whatever of its propellant has not burnt.
    pub entry_kg: f64,
    /// Mass under the main canopy, kg.
    pub canopy_kg: f64,
    /// Nose radius, m.
    pub nose_radius_m: f64,
    /// Mach numbers of the drag table.
    pub mach: Vec<f64>,
    /// Drag areas at them, m².
    pub drag_area_m2: Vec<f64>,
    /// The burn.
    pub burn: Burn,
    /// Mean direction of thrust, inertial; its length is the share of thrust that is not lost to coning.
    pub thrust: Vec3,
}

/// What happened, in the words of the sequence.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum What {
    /// The motor lights.
    Ignition,
    /// It is burnt out, and left behind.
    BurnOut,
    /// 120 km are passed.
    Interface,
    /// The g-switch closes.
    GSwitch,
    /// The drogue is fired.
    Drogue,
    /// The main canopy is fired.
    Main,
    /// The ground, or sea, is reached.
    Touchdown,
}

impl What {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Ignition => "ignition",
            Self::BurnOut => "burn-out, motor left behind",
            Self::Interface => "entry at 120 km",
            Self::GSwitch => "g-switch closes",
            Self::Drogue => "drogue",
            Self::Main => "main canopy",
            Self::Touchdown => "touchdown",
        }
    }
}

/// The motion at an instant, as people speak of it. Speeds and angles are relative to the turning air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// State.
    pub at: Point,
    /// Height above the ellipsoid, m.
    pub height_m: f64,
    /// Inertial speed, m/s.
    pub inertial_m_s: f64,
    /// Angle of the inertial velocity above the local horizontal (at right angles to the radius), rad.
    pub inertial_angle_rad: f64,
    /// Speed against the air, m/s.
    pub speed_m_s: f64,
    /// Mach number.
    pub mach: f64,
    /// Dynamic pressure, Pa.
    pub pressure_pa: f64,
    /// Deceleration by the air, in units of 9.80665 m/s².
    pub g: f64,
    /// Heat flux at the stagnation point, W/m².
    pub flux_w_m2: f64,
}

/// The largest of a quantity, and where.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Peak {
    /// Its value.
    pub value: f64,
    /// The motion there.
    pub at: Moment,
}

/// How a descent ended.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum End {
    /// On the ground.
    Down,
    /// Still up when the program stopped looking.
    Up,
    /// Lost: numbers ran away. Never seen; told rather than hidden.
    Lost,
}

/// A descent from ignition on.
#[derive(Clone, Debug)]
pub struct Fall {
    /// What happened, in order.
    pub events: Vec<(What, Moment)>,
    /// How it ended.
    pub end: End,
    /// Where it ended.
    pub last: Moment,
    /// Most deceleration through entry.
    pub most_g: Peak,
    /// Most heat flux.
    pub most_flux: Peak,
    /// Most dynamic pressure.
    pub most_pressure: Peak,
    /// How the drogue took its opening.
    pub drogue: Opening,
    /// How the main canopy took its own.
    pub main: Opening,
    /// Every step, if rows were asked for.
    pub rows: Vec<Moment>,
}

impl Fall {
    /// The motion at an event.
    pub fn at(&self, what: What) -> Option<&Moment> {
        self.events.iter().find(|(event, _)| *event == what).map(|(_, moment)| moment)
    }
}

/// What acts between two events.
#[derive(Clone, Copy, Debug)]
struct Stage {
    /// Mass without propellant's change, kg.
    mass_kg: f64,
    /// Ignition, s; burning while this is known.
    ignition_s: Option<f64>,
    /// Drag area of the body itself counts.
    body: bool,
    /// Canopy that is out.
    chute: Option<(Chute, f64)>,
}

/// One descent under way.
pub struct Faller<'a, S: Surroundings> {
    /// Where.
    pub surroundings: &'a S,
    /// What.
    pub body: &'a Body,
    /// Under what.
    pub canopies: &'a Canopies,
    /// When.
    pub timers: &'a Timers,
    /// How closely.
    pub closeness: Closeness,
    /// Whether to keep every step.
    pub rows: bool,
}

impl<S: Surroundings> Faller<'_, S> {
    fn drag_area_m2(&self, stage: &Stage, mach: f64, t_s: f64) -> f64 {
        let body = if stage.body { by_height(&self.body.mach, &self.body.drag_area_m2, mach) } else { 0.0 };
        body + stage.chute.map_or(0.0, |(chute, open_s)| chute.area_m2(t_s - open_s))
    }

    fn mass_kg(&self, stage: &Stage, t_s: f64) -> f64 {
        stage.mass_kg - stage.ignition_s.map_or(0.0, |ignition_s| self.body.burn.used_kg(t_s - ignition_s))
    }

    fn slope(&self, stage: &Stage, t_s: f64, y: &Whole) -> Whole {
        let point = Point { t_s, y: *y };
        let (r, v) = (point.position_m(), point.velocity_m_s());
        let height_m = self.surroundings.height_m(&r);
        let air = self.surroundings.air(&r, height_m);
        let against = v - air.velocity_m_s;
        let speed = against.norm_squared().sqrt();
        let mass_kg = self.mass_kg(stage, t_s);
        let drag = -0.5 * air.density_kg_m3 * speed * self.drag_area_m2(stage, speed / air.sound_m_s, t_s) / mass_kg;
        let mut a = self.surroundings.gravity_m_s2(&r) + against * drag;
        if let Some(ignition_s) = stage.ignition_s {
            a += self.body.thrust * (self.body.burn.at(t_s - ignition_s).0 / mass_kg);
        }
        let heat = heating::flux_w_m2(air.density_kg_m3, self.body.nose_radius_m, speed);
        Whole::from([v.x, v.y, v.z, a.x, a.y, a.z, heat])
    }

    fn moment(&self, stage: &Stage, at: &Point) -> Moment {
        let (r, v) = (at.position_m(), at.velocity_m_s());
        let height_m = self.surroundings.height_m(&r);
        let air = self.surroundings.air(&r, height_m);
        let speed_m_s = (v - air.velocity_m_s).norm_squared().sqrt();
        let mach = speed_m_s / air.sound_m_s;
        let pressure_pa = 0.5 * air.density_kg_m3 * speed_m_s * speed_m_s;
        let inertial_m_s = v.norm_squared().sqrt();
        let climb = v.dot(&r) / (r.norm_squared().sqrt() * inertial_m_s).max(1e-9);
        Moment {
            at: *at,
            height_m,
            inertial_m_s,
            inertial_angle_rad: climb.clamp(-1.0, 1.0).asin(),
            speed_m_s,
            mach,
            pressure_pa,
            g: pressure_pa * self.drag_area_m2(stage, mach, at.t_s) / self.mass_kg(stage, at.t_s) / G0,
            flux_w_m2: heating::flux_w_m2(air.density_kg_m3, self.body.nose_radius_m, speed_m_s),
        }
    }

    /// Falls from ignition at `start`.
    pub fn fall(&self, start: Point) -> Fall {
        let ignition_s = start.t_s;
        let burning = Stage { mass_kg: self.body.start_kg, ignition_s: Some(ignition_s), body: true, chute: None };
        let mut log = Log::new(self.moment(&burning, &start), self.rows);
        let mut at = start;
        let mut lost = false;
        for corner_s in self.body.burn.corners_s() {
            let until_s = ignition_s + corner_s;
            let (end, stop) = self.run(&burning, at, until_s, |_| [], &mut log, false);
            at = end;
            lost |= stop == Stop::Lost;
        }
        let entering = Stage { mass_kg: self.body.entry_kg, ignition_s: None, body: true, chute: None };
        log.event(What::BurnOut, self.moment(&entering, &at));
        if lost {
            return log.close(End::Lost);
        }
        self.enter(entering, at, log)
    }

    /// Advances in one stage, noting rows and peaks.
    fn run<const N: usize>(
        &self,
        stage: &Stage,
        at: Point,
        until_s: f64,
        events: impl Fn(&Point) -> [f64; N],
        log: &mut Log,
        peaks: bool,
    ) -> (Point, Stop) {
        let slope = |t_s: f64, y: &Whole| self.slope(stage, t_s, y);
        advance(slope, at, until_s, &self.closeness, events, |point| log.row(&self.moment(stage, point), peaks))
    }

    /// From burn-out to the firing of the drogue.
    fn enter(&self, stage: Stage, mut at: Point, mut log: Log) -> Fall {
        let separation_s = log.fall.events[0].1.at.t_s - self.timers.separation_s;
        let last_s = at.t_s + LONGEST_S;
        let mut closed = self.timers.g_switch_dead;
        let mut interface = false;
        let mut fire_s = self.timers.drogue_backup_s.map_or(f64::INFINITY, |s| separation_s + s);
        let wanted_m = self.timers.drogue_height_m.unwrap_or(f64::NEG_INFINITY);
        loop {
            let g_level = if closed { f64::INFINITY } else { self.canopies.g_switch };
            let interface_m = if interface { f64::NEG_INFINITY } else { INTERFACE_M };
            let until_s = fire_s.min(last_s);
            let (end, stop) = self.run(
                &stage,
                at,
                until_s,
                |point| {
                    let moment = self.moment(&stage, point);
                    [-moment.height_m, interface_m - moment.height_m, moment.g - g_level, wanted_m - moment.height_m]
                },
                &mut log,
                true,
            );
            at = end;
            let moment = self.moment(&stage, &at);
            match stop {
                Stop::Lost => return log.close(End::Lost),
                Stop::Event(0) => return log.touchdown(moment),
                Stop::Event(1) => {
                    interface = true;
                    log.event(What::Interface, moment);
                }
                Stop::Event(2) => {
                    closed = true;
                    log.event(What::GSwitch, moment);
                    if let Some(after_s) = self.timers.drogue_after_g_s {
                        fire_s = fire_s.min(at.t_s + after_s);
                    }
                }
                Stop::Time if fire_s > last_s => {
                    log.fall.last = moment;
                    return log.close(End::Up);
                }
                Stop::Event(_) | Stop::Time => return self.under_drogue(stage, at, log, separation_s),
            }
        }
    }

    fn under_drogue(&self, before: Stage, at: Point, mut log: Log, separation_s: f64) -> Fall {
        let moment = self.moment(&before, &at);
        log.event(What::Drogue, moment);
        let opening = self.canopies.drogue.opens(&moment, self.timers.drogue_dead);
        log.fall.drogue = opening;
        let chute = (opening == Opening::Good).then_some((self.canopies.drogue, at.t_s));
        let stage = Stage { chute, ..before };
        let timer_s = self.timers.main_after_drogue_s.map_or(f64::INFINITY, |s| at.t_s + s);
        let backup_s = self.timers.main_backup_s.map_or(f64::INFINITY, |s| separation_s + s);
        // A backup that runs out before the drogue is out must not fire the main into the entry.
        let fire_s = timer_s.min(backup_s.max(at.t_s + self.canopies.drogue.fill_s));
        let wanted_m = self.timers.main_height_m.unwrap_or(f64::NEG_INFINITY);
        let events = |point: &Point| {
            let height_m = self.surroundings.height_m(&point.position_m());
            [-height_m, wanted_m - height_m]
        };
        let last_s = at.t_s + LONGEST_S;
        let (end, stop) = self.run(&stage, at, fire_s.min(last_s), events, &mut log, false);
        let moment = self.moment(&stage, &end);
        match stop {
            Stop::Lost => log.close(End::Lost),
            Stop::Event(0) => log.touchdown(moment),
            Stop::Time if fire_s > last_s => log.close(End::Up),
            Stop::Event(_) | Stop::Time => self.under_main(stage, end, log),
        }
    }

    fn under_main(&self, before: Stage, at: Point, mut log: Log) -> Fall {
        let moment = self.moment(&before, &at);
        log.event(What::Main, moment);
        let opening = self.canopies.main.opens(&moment, self.timers.main_dead);
        log.fall.main = opening;
        let stage = match opening {
            Opening::Good => Stage {
                mass_kg: self.body.canopy_kg,
                ignition_s: None,
                body: false,
                chute: Some((self.canopies.main, at.t_s)),
            },
            // What the drogue is, it stays.
            _ => before,
        };
        let down = |point: &Point| [-self.surroundings.height_m(&point.position_m())];
        let (end, stop) = self.run(&stage, at, at.t_s + LONGEST_S, down, &mut log, false);
        let moment = self.moment(&stage, &end);
        match stop {
            Stop::Event(_) => log.touchdown(moment),
            Stop::Time => log.close(End::Up),
            Stop::Lost => log.close(End::Lost),
        }
    }
}

/// What is gathered on the way.
struct Log {
    fall: Fall,
    keep: bool,
    /// The last three moments, for the tops of curves.
    recent: [Option<Moment>; 2],
}

impl Log {
    fn new(start: Moment, keep: bool) -> Self {
        let peak = Peak { value: 0.0, at: start };
        let fall = Fall {
            events: vec![(What::Ignition, start)],
            end: End::Lost,
            last: start,
            most_g: peak,
            most_flux: peak,
            most_pressure: peak,
            drogue: Opening::Never,
            main: Opening::Never,
            rows: if keep { vec![start] } else { Vec::new() },
        };
        Self { fall, keep, recent: [None; 2] }
    }

    fn event(&mut self, what: What, moment: Moment) {
        self.fall.events.push((what, moment));
        self.fall.last = moment;
    }

    fn row(&mut self, moment: &Moment, peaks: bool) {
        if self.keep {
            self.fall.rows.push(*moment);
        }
        if peaks {
            let three = [self.recent[0], self.recent[1], Some(*moment)];
            raise(&mut self.fall.most_g, three, |m| m.g);
            raise(&mut self.fall.most_flux, three, |m| m.flux_w_m2);
            raise(&mut self.fall.most_pressure, three, |m| m.pressure_pa);
            self.recent = [self.recent[1], Some(*moment)];
        }
    }

    fn touchdown(mut self, moment: Moment) -> Fall {
        self.event(What::Touchdown, moment);
        self.close(End::Down)
    }

    fn close(mut self, end: End) -> Fall {
        self.fall.end = end;
        self.fall
    }
}

/// Raises a peak to the top of the parabola through the last three moments, if it is higher.
fn raise(peak: &mut Peak, three: [Option<Moment>; 3], of: fn(&Moment) -> f64) {
    let Some(newest) = three[2] else { return };
    if of(&newest) > peak.value {
        *peak = Peak { value: of(&newest), at: newest };
    }
    let [Some(a), Some(b), Some(c)] = three else { return };
    let top = of(&b) >= of(&a) && of(&b) > of(&c);
    if !top {
        return;
    }
    let (x0, x2) = (a.at.t_s - b.at.t_s, c.at.t_s - b.at.t_s);
    let (y0, y2) = (of(&a) - of(&b), of(&c) - of(&b));
    let curve = (y0 / x0 - y2 / x2) / (x0 - x2);
    let slope = y0 / x0 - curve * x0;
    let value = of(&b) - slope * slope / (4.0 * curve);
    if curve < 0.0 && value > peak.value {
        *peak = Peak { value, at: b };
    }
}
