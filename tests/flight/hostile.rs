//! Whatever comes in, what goes out is inside its range and safe.

use proptest::prelude::*;
use stillframe::flight::settings::fitted;
use stillframe_controller::{
    Controller,
    attitude::mode::{Hold, Mode},
    exposure::Phase,
    io::{Actuators, Edges, FilmSample, HorizonSample, MAX_JETS, OrdnanceSample, Sensors, TankSample},
    programme::load::{Command, Entry, Load},
};

use crate::rig::{loaded, scenario};

/// No request keeps a valve open longer than 1 s (`longest_pulse_ms`), and sums over the axes that share a jet
/// are cut at 10 s; one tick more for the closing edge.
const LONGEST_OPEN_TICKS: u32 = 1_001;

/// Anything a wire may bring, with plausible numbers often enough to get past the checks.
fn float() -> impl Strategy<Value = f32> {
    prop_oneof![
        4 => -0.01_f32..0.01,
        2 => -2.0_f32..2.0,
        1 => any::<f32>(),
        1 => prop::sample::select(vec![f32::NAN, f32::INFINITY, f32::NEG_INFINITY, 0.0, -0.0, f32::MAX, f32::MIN_POSITIVE]),
    ]
}

/// A stretch of inputs: how many ticks it lasts, how far the clock goes each tick, and what is read.
#[derive(Clone, Debug)]
struct Stretch {
    ticks: u32,
    clock: u32,
    sensors: Sensors,
    moving: bool,
}

fn stretch() -> impl Strategy<Value = Stretch> {
    let clock = prop_oneof![12 => Just(1_u32), 1 => Just(0), 1 => any::<u32>()];
    let horizon = (any::<bool>(), float(), float());
    let film = (float(), float(), float(), any::<u32>(), any::<bool>());
    let bytes = prop::collection::vec(any::<u8>(), 0..32);
    let rest = (1_u32..120, clock, any::<bool>(), prop::bool::weighted(0.95));
    ([float(), float(), float()], horizon, (float(), float()), film, bytes, rest).prop_map(
        |(gyro_rad_s, horizon, tank, film, bytes, (ticks, clock, moving, separated))| Stretch {
            ticks,
            clock,
            moving,
            sensors: Sensors {
                tick: 0,
                gyro_rad_s,
                horizon: HorizonSample { sequence: 0, locked: horizon.0, roll_rad: horizon.1, pitch_rad: horizon.2 },
                tank: TankSample { pressure_pa: tank.0 * 1e9, temperature_k: tank.1 * 300.0 },
                film: FilmSample {
                    roller_counts: film.3,
                    supply_counts: film.3.rotate_left(7),
                    take_up_counts: film.3.rotate_left(17),
                    supply_arm_m: film.0,
                    take_up_arm_m: film.1,
                    roller_current_a: film.2,
                    shutter_open: film.4,
                    sweep_rad: film.0,
                },
                uplink: bytes.into_iter().collect(),
                separated,
                ordnance: OrdnanceSample {
                    off_carrier: film.4,
                    recovery_v: tank.0 * 60.0,
                    relay_closed: moving,
                    commit_closed: horizon.0,
                    lines_closed: film.3 as u8,
                    spent: (film.3 >> 8) as u8,
                    done: (film.3 >> 16) as u8,
                    abort_latched: [horizon.0, film.4],
                    capsule_armed: moving,
                    retained: film.3 as u16,
                    retained_ticks: film.3,
                },
            },
        },
    )
}

fn controller() -> Controller {
    let scenario = loaded(&scenario(1.0, "")).scenario;
    let mut settings = fitted(&scenario);
    // So that a camera-on in the first seconds is not refused.
    settings.observer.settle_s = 0.0;
    let mut controller = Controller::new(settings).expect("fitted settings are sound");
    let on = Command::CameraOn { slit: 1, interval_ticks: 0 };
    let commands = [(200, Command::Speed(300)), (500, on), (3_000, Command::CameraOff)];
    let entries = commands.into_iter().map(|(tick, command)| Entry { tick, command }).collect();
    let ephemeris = stillframe_controller::attitude::orbit::Ephemeris {
        epoch_tick: 0,
        phase: 0,
        phase_per_tick: 527_000_000,
        half_acceleration_rad_s2: 0.0,
        inclination_rad: 1.4,
        radius_ratio2: 0.93,
    };
    controller.load(&Load { counter: 1, ephemeris, entries }.encode(), 0).expect("load");
    controller
}

/// An on/off actuator as its edges move it.
#[derive(Clone, Copy, Default)]
struct OnOff {
    open: bool,
    ticks: u32,
}

impl OnOff {
    fn take(&mut self, edges: Edges) -> Result<(), TestCaseError> {
        for us in [edges.open_us, edges.close_us].into_iter().flatten() {
            prop_assert!(us < 10_000, "an edge outside its tick: {edges:?}");
        }
        self.open = match (edges.open_us, edges.close_us) {
            (Some(open), Some(close)) => open > close,
            (Some(_), None) => true,
            (None, Some(_)) => false,
            (None, None) => self.open,
        };
        self.ticks = if self.open { self.ticks + 1 } else { 0 };
        Ok(())
    }
}

fn check(
    controller: &Controller,
    out: &Actuators,
    valves: &mut [OnOff],
    shutter: &mut OnOff,
) -> Result<(), TestCaseError> {
    for duty in [out.film.roller_duty, out.film.supply_duty, out.film.take_up_duty] {
        prop_assert!((-1.0..=1.0).contains(&duty), "duty {duty}");
        prop_assert!(!out.film.brake || duty == 0.0, "a motor pulls against its brake");
    }
    for (valve, edges) in valves.iter_mut().zip(out.jets) {
        if let (Some(open), Some(close)) = (edges.open_us, edges.close_us) {
            prop_assert!(open < close, "{edges:?}");
        }
        valve.take(edges)?;
        prop_assert!(valve.ticks <= LONGEST_OPEN_TICKS, "open for {} ticks", valve.ticks);
    }
    let attitude = controller.attitude();
    for (bank, &open) in out.latch_open.iter().enumerate() {
        prop_assert!(!(open && attitude.bank_lost[bank]), "a lost bank is fed");
        prop_assert!(!(open && attitude.mode == Mode::Drift), "gas in drift");
    }
    shutter.take(out.shutter)?;
    prop_assert!(!shutter.open || controller.exposure().phase == Phase::Exposing, "open outside an exposure");
    prop_assert!(out.slit < 4);
    // Readbacks alone, however wild, arm nothing: no order with its check sum comes out of these bytes.
    let ordnance = &out.ordnance;
    prop_assert!(!ordnance.arm() && ordnance.lines() == 0 && !ordnance.commits(), "{ordnance:?}");
    Ok(())
}

/// Feeds the stretches and checks every tick; gives back what was seen at work.
fn feed(stretches: &[Stretch]) -> Result<(bool, bool), TestCaseError> {
    let mut controller = controller();
    let mut valves = [OnOff::default(); MAX_JETS];
    let mut shutter = OnOff::default();
    let (mut tick, mut fired) = (0_u32, false);
    for stretch in stretches {
        let mut sensors = stretch.sensors.clone();
        for step in 0..stretch.ticks {
            tick = tick.wrapping_add(stretch.clock);
            sensors.tick = tick;
            sensors.horizon.sequence = (tick / 10) as u8;
            if stretch.moving {
                // Live gauges never repeat themselves.
                let little = step as f32 * 1e-6;
                sensors.gyro_rad_s = stretch.sensors.gyro_rad_s.map(|rate| rate + little);
                sensors.horizon.roll_rad = stretch.sensors.horizon.roll_rad + little;
            }
            let out = controller.step(&sensors);
            check(&controller, &out, &mut valves, &mut shutter)?;
            fired |= valves.iter().any(|valve| valve.open);
        }
    }
    Ok((fired, controller.attitude().pulses > 0))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_input_leads_an_actuator_out_of_its_range(stretches in prop::collection::vec(stretch(), 1..80)) {
        feed(&stretches)?;
    }

    #[test]
    fn no_bytes_from_the_radio_open_the_shutter(bytes in prop::collection::vec(any::<u8>(), 0..4_000)) {
        let scenario = loaded(&scenario(1.0, "")).scenario;
        let mut controller = Controller::new(fitted(&scenario)).expect("settings");
        let quiet = controller_input();
        for (tick, chunk) in bytes.chunks(32).enumerate() {
            let sensors = Sensors { tick: tick as u32, uplink: chunk.iter().copied().collect(), ..quiet.clone() };
            let out = controller.step(&sensors);
            prop_assert!(out.shutter.open_us.is_none());
        }
        prop_assert_eq!(controller.telemetry().load_counter, 0);
    }
}

fn controller_input() -> Sensors {
    Sensors {
        tick: 0,
        gyro_rad_s: [0.0, -1.18e-3, 0.0],
        horizon: HorizonSample { sequence: 0, locked: true, roll_rad: 0.0, pitch_rad: 0.0 },
        tank: TankSample { pressure_pa: 20e6, temperature_k: 293.0 },
        film: FilmSample::default(),
        uplink: Default::default(),
        separated: true,
        ordnance: OrdnanceSample::default(),
    }
}

#[test]
fn the_hostile_streams_do_fire_jets() {
    // Otherwise the bounds above would hold of nothing.
    let live = Stretch {
        ticks: 400,
        clock: 1,
        moving: true,
        sensors: Sensors { gyro_rad_s: [0.01, 0.02, -0.01], ..controller_input() },
    };
    assert_eq!(feed(&[live]).expect("in range"), (true, true));
}

#[test]
fn nothing_fires_before_separation() {
    let mut controller = controller();
    for tick in 0..2_000 {
        let sensors = Sensors { tick, separated: false, gyro_rad_s: [0.05, -0.05, 0.05], ..controller_input() };
        let out = controller.step(&sensors);
        let ordnance = out.ordnance;
        assert_eq!((ordnance.arm(), ordnance.lines(), ordnance.commits()), (false, 0, false));
        assert_eq!(out, Actuators { transmit: true, ordnance, ..Actuators::SAFE });
    }
}

/// Stored commands, a clock that jumps about and bytes that are no telecommand, for an hour and a quarter: the count of
/// silence is that of the cycles, and its end comes when it is due.
#[test]
fn nothing_but_a_telecommand_touches_the_count_of_silence() {
    let mut controller = controller();
    let entries = (0..300_u32).map(|number| {
        let command = if number % 2 == 0 { Command::Hold(Hold::Coarse) } else { Command::SafeAfter(60) };
        Entry { tick: 1_000 + number * 1_000, command }
    });
    let built = stillframe::flight::build::build(&loaded(&scenario(1.0, "")), 1).expect("builds");
    let load = Load { counter: 2, entries: entries.collect(), ..built.load };
    controller.load(&load.encode(), 0).expect("sound");
    let mut clock = 0_u32;
    for cycle in 0..450_000_u32 {
        clock = match cycle % 50_000 {
            49_999 if cycle > 350_000 => clock.wrapping_add(cycle.wrapping_mul(2_654_435_761)),
            _ => clock.wrapping_add(1),
        };
        let byte = cycle.wrapping_mul(2_654_435_761).to_be_bytes()[0];
        let uplink = [byte].into_iter().collect();
        controller.step(&Sensors { tick: clock, uplink, separated: false, ..controller_input() });
        if cycle % 100 == 0 {
            let contact = controller.contact();
            assert_eq!(contact.silent_s(), cycle / 100 + 1);
            assert_eq!(contact.lost(), cycle / 100 + 1 >= 3_600, "at {} s", cycle / 100);
        }
    }
}
