//! Sound scenarios, and what is made of them.

use std::collections::BTreeMap;

use stillframe::scenario::demo::Demo;
use stillframe::scenario::parts::camera::CameraKind;
use stillframe::scenario::parts::command::{Action, Slit};
use stillframe::scenario::{Shape, load};

use crate::support::{BASE, FRAMING, edited, read_text};

#[test]
fn the_demonstrations_are_sound_and_of_one_vehicle() {
    let strip = Demo::Strip.load().expect("strip").scenario;
    let frame = Demo::Frame.load().expect("frame").scenario;
    assert!(matches!(strip.camera.kind, CameraKind::Strip(_)));
    assert!(matches!(frame.camera.kind, CameraKind::Frame(_)));
    assert_eq!(strip.vehicle, frame.vehicle);
    assert_eq!(strip.jets, frame.jets);
    assert_eq!(strip.film, frame.film);
    assert_eq!(strip.jets.len(), 16);
    assert!(strip.areas.len() >= 8);
    let tip_off: f64 = strip.vehicle.tip_off_rad_s.iter().map(|rate| rate * rate).sum::<f64>().sqrt();
    assert!((tip_off.to_degrees() - 1.0).abs() < 0.02, "tip-off {tip_off}");
}

#[test]
fn numbers_arrive_in_si() {
    let loaded = read_text(BASE).expect("base");
    let scenario = loaded.scenario;
    let close = |found: f64, wanted: f64| assert!((found - wanted).abs() <= 1e-12 * wanted.abs(), "{found} {wanted}");
    close(scenario.run.duration_s, 86_400.0);
    close(scenario.camera.focal_length_m, 1.0);
    close(scenario.camera.lens_lp_m, 130e3);
    close(scenario.tank.volume_m3, 0.018);
    close(scenario.tank.temperature_k, 293.15);
    close(scenario.tank.max_pressure_pa, 21e6);
    close(scenario.gyro.drift_rad_s[0], 0.5 * std::f64::consts::PI / 180.0 / 3600.0);
    close(scenario.gyro.random_walk_rad_rt_s, 0.02 * 2.908_882_086_657_2e-4); // 1 °/√h, check values S09
    close(scenario.film.thickness_m, 76e-6);
    close(scenario.power.battery_j, 14_400.0 * 3600.0);
    // 60 scc of nitrogen in an hour are 75.0 mg: 1.2498 g/L at 0 °C and 1 atm.
    assert!((scenario.tank.leak_kg_s * 3600.0 - 75.0e-6).abs() < 0.1e-6);
    // Times as UTC and as hours come to the same clock.
    let start = scenario.run.start;
    let starts: Vec<f64> = scenario.commands.iter().map(|command| command.start_s(start)).collect();
    assert_eq!(starts, [10_440.0, 10_800.0, 16_200.0]);
    let Action::Camera(camera) = &scenario.commands[1].kind else { panic!("camera") };
    assert_eq!(camera.slit, Slit::Index(2), "the file counts from 1, the program from 0");
}

#[test]
fn the_pack_radius_is_that_of_the_closed_form() {
    // Check values S17: 40 mm core, 76 µm, 1000 m: r = 0.160597482 m.
    let film = read_text(BASE).expect("base").scenario.film;
    assert!((film.pack_radius_m(1000.0) - 0.160_597_482).abs() < 1e-9);
}

#[test]
fn defaults_stand_in_for_tables_left_out() {
    let text = edited(&[("[world]\ndensity_factor = 1.0\n", "")]);
    assert_eq!(read_text(&text).expect("no world").scenario, read_text(BASE).expect("base").scenario);
}

#[test]
fn a_framing_camera_is_read() {
    let loaded = read_text(&edited(&FRAMING)).unwrap_or_else(|refusal| panic!("{}", refusal.render(100, false)));
    let CameraKind::Frame(frame) = &loaded.scenario.camera.kind else { panic!("frame") };
    assert_eq!(frame.shutter_s.len(), 4);
}

#[test]
fn a_published_element_set_is_read() {
    let elements = edited(&[]);
    let start = elements.find("[orbit.elements]").expect("orbit");
    let end = elements.find("[world]").expect("world");
    let set = "[orbit.element_set]\n\
        line1 = \"1 00005U 58002B   00179.78495062  .00000023  00000-0  28098-4 0  4753\"\n\
        line2 = \"2 00005  34.2682 348.7242 1859667 331.7664  19.3264 10.82419157413667\"\n\n";
    let text = format!("{}{set}{}", &elements[..start], &elements[end..])
        .replace("2026-06-10T06", "2000-06-28T06")
        .replace("2026-06-10T09", "2000-06-28T09");
    let loaded = read_text(&text).unwrap_or_else(|refusal| panic!("{}", refusal.render(100, false)));
    assert_eq!(loaded.element_set.expect("set").norad_id, 5);
}

#[test]
fn spreads_are_gathered_and_drawn() {
    let text = edited(&[
        ("gas_kg = 4.0", "gas_kg = { value = 3.5, sigma = 0.05 }"),
        ("drift_deg_h = [0.5,", "drift_deg_h = [{ value = 0.5, plus_minus = 0.4 },"),
        ("thrust_n = 0.5", "thrust_n = { value = 0.5, sigma = 0.02 }"),
    ]);
    let loaded = read_text(&text).expect("spreads");
    let keys: Vec<&str> = loaded.spreads.iter().map(|spread| spread.key.as_str()).collect();
    assert_eq!(keys, ["jet[1].thrust_n", "tank.gas_kg", "gyro.drift_deg_h[1]"]);
    assert_eq!(loaded.spreads[1].shape, Shape::Normal(0.05));
    assert_eq!(loaded.scenario.tank.gas_kg, 3.5, "a single run uses the value");
    let drawn = loaded.redraw(BTreeMap::from([("tank.gas_kg".to_owned(), 3.6)])).expect("drawn").scenario;
    assert_eq!(drawn.tank.gas_kg, 3.6);
    assert_eq!(drawn.jets, loaded.scenario.jets);
    let refusal = loaded.redraw(BTreeMap::from([("tank.gas_kg".to_owned(), 4.2)])).expect_err("too much gas");
    assert_eq!(refusal.problems[0].key, "tank.gas_kg");
}

#[test]
fn a_shortened_run_loses_what_comes_later() {
    let mut scenario = read_text(BASE).expect("base").scenario;
    assert_eq!(scenario.shorten(10_830.0), 2, "one command and the fault");
    let Action::Camera(camera) = &scenario.commands[1].kind else { panic!("camera") };
    assert!((camera.for_s - 30.0).abs() < 1e-9, "cut at the end of the run");
    assert_eq!(scenario.run.duration_s, 10_830.0);
}

#[test]
fn files_that_are_no_text_are_refused() {
    let folder = tempfile::tempdir().expect("folder");
    let file = folder.path().join("bad.toml");
    let said = |wanted: &str| {
        let refusal = load(&file).expect_err(wanted);
        assert!(refusal.problems[0].message.contains(wanted), "{refusal} {:?}", refusal.problems);
    };
    said("cannot be read");
    std::fs::write(&file, b"format = 1\nname = \"\xff\"\n").expect("write");
    said("not UTF-8 text: line 2");
    std::fs::write(&file, vec![b'#'; 5_000_000]).expect("write");
    said("larger than 4 MB");
    std::fs::remove_file(&file).expect("remove");
    std::fs::create_dir(&file).expect("folder");
    said("it is a folder");
}
