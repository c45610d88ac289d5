//! Sequences of exposures from camera-on to camera-off, in the closed loop.

use stillframe::plant::film::FilmFaults;
use stillframe_controller::exposure::{CameraSettings, Ending, Outcome, Phase};
use stillframe_controller::film::State;

use crate::rig::{Camera, SPEED_M_S};

const STEP: u16 = 341;
/// Film in one roller count, m.
const COUNT_M: f64 = 0.02 * std::f64::consts::TAU / 32_768.0;

#[test]
fn a_strip_is_cut_into_frames_without_gaps() {
    let mut camera = Camera::strip(300.0);
    camera.run(50, false, STEP);
    let mut worst = 0.0_f64;
    let mut opened = None;
    for tick in 0..3_000 {
        camera.step(true, STEP);
        if camera.open.total_us() > 0 {
            opened.get_or_insert(tick);
            worst = worst.max((camera.rig.plant.speed_m_s() / f64::from(SPEED_M_S) - 1.0).abs());
        }
    }
    let opened = opened.expect("the shutter opened");
    println!("shutter open {opened} ticks after camera-on; worst film speed while open {:.3} % off", worst * 100.0);
    assert!(opened < 100);
    // The band is 1 % of counted speed; wow adds its own.
    assert!(worst < 0.013, "{worst}");
    let wanted = 0.114 / COUNT_M;
    let counts = camera.marks.iter().map(|mark| f64::from(mark.ended_counts - mark.began_counts));
    assert!(counts.clone().count() >= 8);
    for length in counts {
        assert!((length - wanted).abs() <= 1.0, "a frame of {length} counts instead of {wanted}");
    }
    for pair in camera.marks.windows(2) {
        assert_eq!(pair[0].ended_counts, pair[1].began_counts);
        assert_eq!(pair[0].number + 1, pair[1].number);
    }
    assert!(camera.marks.iter().all(|mark| mark.outcome == Outcome::Good));
}

#[test]
fn camera_off_in_mid_frame_shuts_marks_and_stops() {
    let mut camera = Camera::strip(300.0);
    camera.run(500, true, STEP);
    assert_eq!(camera.phase(), Phase::Exposing);
    let before = camera.marks.len();
    camera.step(false, STEP);
    assert_eq!(camera.marks.len(), before + 1);
    assert_eq!(camera.marks[before].outcome, Outcome::CutShort);
    camera.step(false, STEP);
    assert!(!camera.shutter.is_open(), "shut at the boundary after the command");
    camera.run(200, false, STEP);
    assert_eq!(camera.phase(), Phase::Off);
    assert_eq!(camera.rig.state(), State::Braked);
    assert_eq!(camera.sequencer.status().ending, Ending::Commanded);
    // And on again, with the next number.
    camera.run(500, true, STEP);
    assert_eq!(camera.sequencer.status().frame, camera.marks[before].number + 2);
}

#[test]
fn a_camera_that_may_not_goes_off_and_stays_off_until_commanded_anew() {
    let mut camera = Camera::strip(300.0);
    camera.run(300, true, STEP);
    camera.allowed = false;
    camera.run(2, true, STEP);
    assert!(!camera.shutter.is_open());
    camera.allowed = true;
    camera.run(400, true, STEP);
    assert_eq!(camera.phase(), Phase::Off);
    camera.step(false, STEP);
    camera.run(200, true, STEP);
    assert_eq!(camera.phase(), Phase::Exposing);
}

#[test]
fn a_lost_camera_off_costs_no_more_film_than_the_limits() {
    let settings = CameraSettings { footage_limit_m: 0.5, ..CameraSettings::default() };
    let (film, transport) = (Default::default(), Default::default());
    let mut camera = Camera::new(&film, &transport, &settings, 300.0);
    camera.run(3_000, true, STEP);
    assert_eq!(camera.sequencer.status().ending, Ending::TooMuchFilm);
    assert!(camera.rig.plant.gate_m() < 0.52, "{}", camera.rig.plant.gate_m());

    let settings = CameraSettings { on_limit_ticks: 700, ..CameraSettings::default() };
    let mut camera = Camera::new(&film, &transport, &settings, 300.0);
    camera.run(3_000, true, STEP);
    assert_eq!(camera.sequencer.status().ending, Ending::TooLong);
    assert_eq!(camera.rig.state(), State::Braked);
}

#[test]
fn a_stuck_shutter_stops_film() {
    for open in [true, false] {
        let mut camera = Camera::strip(300.0);
        camera.run(if open { 300 } else { 20 }, open, STEP);
        camera.shutter.set_stuck(Some(open));
        camera.run(300, true, STEP);
        if open {
            // Stuck open can only be seen once it should be shut.
            camera.run(300, false, STEP);
        }
        assert!(camera.sequencer.status().shutter_fault, "stuck open {open}");
        camera.run(1, false, STEP);
        camera.run(500, true, STEP);
        assert_eq!(camera.phase(), Phase::Off);
        assert_eq!(camera.rig.state(), State::Braked);
    }
}

#[test]
fn stuck_film_ends_the_exposure() {
    let mut camera = Camera::strip(300.0);
    camera.run(300, true, STEP);
    let jam = stillframe::plant::film::Jam::Roller { holding_nm: 5.0 };
    camera.rig.plant.set_faults(FilmFaults { jam: Some(jam), ..FilmFaults::default() });
    camera.run(1_000, true, STEP);
    assert_eq!(camera.phase(), Phase::Off);
    assert!(!camera.shutter.is_open());
    assert!(matches!(camera.sequencer.status().ending, Ending::LostFilm | Ending::FilmStopped));
}

#[test]
fn the_slit_follows_the_film_speed() {
    let settings = CameraSettings::default();
    // 4 ms of 24.6 … 42 mm/s (300 to 180 km): 98 … 168 µm of slit wanted.
    let slits = [0.0246_f32, 0.0341, 0.042].map(|speed_m_s| settings.best_slit(speed_m_s));
    assert_eq!(slits, [0, 1, 2]);
    for speed_m_s in [0.0246_f32, 0.0299, 0.0341, 0.0377, 0.042] {
        let time_s = settings.slit_m(settings.best_slit(speed_m_s)) / speed_m_s;
        // Slits half a stop apart leave a quarter of a stop: 19 %.
        assert!((time_s / 4e-3 - 1.0).abs() < 0.19, "{time_s} s at {speed_m_s}");
    }
}

struct FrameSeen {
    open_us: u32,
    speed_error: f64,
    gate_m_s: f64,
}

/// Runs a framing camera for `ticks`; gives each exposure's true open time and motion.
fn expose(camera: &mut Camera, ticks: u32) -> Vec<FrameSeen> {
    let image_m_s = f64::from(STEP) * 1e-4;
    let mut seen: Vec<FrameSeen> = Vec::new();
    let mut was_open = false;
    for _ in 0..ticks {
        let speed_before = camera.rig.plant.speed_m_s();
        camera.step(true, STEP);
        let open_us = camera.open.total_us();
        if open_us > 0 {
            // Both ends of the tick: the platen must go on while the shutter is open.
            let off = |speed_m_s: f64| (speed_m_s / image_m_s - 1.0).abs();
            let error = off(speed_before).max(off(camera.rig.plant.speed_m_s()));
            let gate_m_s = camera.rig.plant.speeds_m_s()[1].abs();
            match seen.last_mut().filter(|_| was_open) {
                Some(frame) => {
                    frame.open_us += open_us;
                    frame.speed_error = frame.speed_error.max(error);
                    frame.gate_m_s = frame.gate_m_s.max(gate_m_s);
                }
                None => seen.push(FrameSeen { open_us, speed_error: error, gate_m_s }),
            }
        }
        was_open = open_us > 0;
    }
    seen
}

#[test]
fn a_framing_cycle_keeps_its_pace_and_exposes_on_still_film_at_image_speed() {
    for wound_m in [0.0, 449.0, 870.0] {
        let mut camera = Camera::framing(wound_m);
        camera.cycle_ticks = 220;
        let seen = expose(&mut camera, 2_700);
        let cycles: Vec<u32> = camera.marks.windows(2).map(|pair| pair[1].began_tick - pair[0].began_tick).collect();
        let worst = seen.iter().map(|frame| frame.speed_error).fold(0.0, f64::max);
        let gate = seen.iter().map(|frame| frame.gate_m_s).fold(0.0, f64::max);
        println!(
            "wound {wound_m} m: cycles {cycles:?}, image speed error {:.3} %, film in the gate {gate:.1e} m/s, late {}, tension {:.2}..{:.2} N",
            worst * 100.0,
            camera.sequencer.status().late,
            camera.rig.tension_n.0,
            camera.rig.tension_n.1
        );
        assert!(camera.marks.len() >= 11);
        // The pace holds to a tick or two: an advance ends when film is really there.
        assert!(cycles.iter().all(|ticks| (218..=222).contains(ticks)), "{cycles:?}");
        assert!(seen.iter().all(|frame| frame.open_us == 4_000));
        assert!(worst < 5e-3, "{worst}");
        assert!(gate < 1e-5, "film crept at {gate} m/s under the clamp");
        assert!(camera.marks.iter().all(|mark| mark.outcome == Outcome::Good));
        assert_eq!(camera.sequencer.status().late, 0);
        assert!(camera.rig.tension_n.0 > 3.0 && camera.rig.tension_n.1 < 10.0);
    }
}

#[test]
fn exposures_longer_than_a_tick_are_exact_too() {
    for exposure_us in [9_999, 10_000, 10_001, 25_300] {
        let settings = CameraSettings { exposure_us, ..CameraSettings::framing() };
        let (film, transport) =
            (stillframe::plant::film::FilmParameters::framing(), stillframe_controller::film::FilmSettings::framing());
        let mut camera = Camera::new(&film, &transport, &settings, 449.0);
        let seen = expose(&mut camera, 500);
        assert!(seen.len() >= 2);
        assert!(seen.iter().all(|frame| frame.open_us == exposure_us), "{exposure_us}: {}", seen[0].open_us);
    }
}

/// Camera-off at every tick of a cycle: the frame is whole or was never begun, and the shutter is shut.
#[test]
fn camera_off_at_any_tick_of_a_framing_cycle_is_clean() {
    let settings = CameraSettings { exposure_us: 25_300, ..CameraSettings::framing() };
    let (film, transport) =
        (stillframe::plant::film::FilmParameters::framing(), stillframe_controller::film::FilmSettings::framing());
    let mut camera = Camera::new(&film, &transport, &settings, 449.0);
    camera.run(260, true, STEP);
    for _ in 0..230 {
        camera.step(true, STEP);
        let mut other = Camera {
            rig: crate::rig::Rig {
                plant: camera.rig.plant.clone(),
                transport: camera.rig.transport.clone(),
                ..camera.rig
            },
            sequencer: camera.sequencer.clone(),
            shutter: camera.shutter.clone(),
            marks: camera.marks.clone(),
            ..camera
        };
        other.run(5, false, STEP);
        assert!(!other.shutter.is_open());
        assert!(other.marks.iter().all(|mark| mark.outcome == Outcome::Good), "{:?}", other.marks.last());
        other.run(600, false, STEP);
        assert_eq!(other.phase(), Phase::Off);
        assert_eq!(other.rig.state(), State::Braked);
    }
}
