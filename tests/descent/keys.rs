//! Keys of the scenario: what is refused, and with which words.

use std::collections::BTreeMap;

use stillframe::scenario::{BuiltIn, demo::Demo, read};

fn changed(from: &str, to: &str) -> String {
    let text = Demo::Strip.text();
    assert!(text.contains(from), "the demonstration has no {from}");
    text.replacen(from, to, 1)
}

#[track_caller]
fn refused(from: &str, to: &str, key: &str, words: &str) {
    let refusal = read("a.toml", &changed(from, to), &BuiltIn(&[])).expect_err("bad");
    let all = refusal.render(100, false);
    assert!(refusal.problems.iter().any(|problem| problem.key == key), "{key}: {all}");
    assert!(all.contains(words), "{words:?} is not in {all}");
}

#[test]
fn what_cannot_be_is_refused_at_its_key() {
    refused("canopy_kg = 60.0", "canopy_kg = 70.0", "capsule.canopy_kg", "66.1 kg come through entry");
    refused("mach = [0.0, 0.6,", "mach = [0.0, 0.0,", "capsule.mach", "does not rise");
    refused("0.62, 0.601]", "0.62]", "capsule.drag_area_m2", "has 5 entries where mach has 6");
    refused("latest_h = 48.0", "latest_h = 20.0", "return.latest_h", "not after earliest_h");
    refused(
        "centre_deg = [-38.0, -145.6]",
        "centre_deg = [-145.6, -38.0]",
        "return.zone.centre_deg",
        "Latitude comes first",
    );
    refused("height_km = 5.0\neast_m_s", "height_km = 11.0\neast_m_s", "wind[3].height_km", "do not rise");
    refused("impulse_n_s = 20120.0", "impulse_kns = 20.12", "capsule.retro.impulse_kns", "not a key");
    refused("retro_angle_deg = 126.0", "retro_angle_deg = 45.0", "return.retro_angle_deg", "91 to 180");
}

#[test]
fn dispersions_carry_their_unit_and_law() {
    let list = "\n[[dispersion]]\nof = \"pitch\"\nsigma_deg = 0.5\nshape = \"even\"\n\n[[dispersion]]\nof = \"thrust_offset\"\nsigma_mm = 1.0\n";
    let loaded = read("a.toml", &(Demo::Strip.text().to_owned() + list), &BuiltIn(&[])).expect("good");
    let axes = stillframe::descent::dispersions::axes(&loaded.scenario.dispersions);
    assert_eq!(axes.len(), 3, "an offset has two directions");
    assert!(axes[0].even && (axes[0].sigma.to_degrees() - 0.5).abs() < 1e-12);
    assert!(!axes[1].even && (axes[1].sigma - 1e-3).abs() < 1e-15);
    let bad = list.replace("sigma_deg", "sigma_km");
    assert!(read("a.toml", &(Demo::Strip.text().to_owned() + &bad), &BuiltIn(&[])).is_err());
}

/// Both entries would take the same draws: together in the footprint, apart in the sensitivities.
#[test]
fn a_quantity_is_dispersed_once() {
    let one = "\n[[dispersion]]\nof = \"pitch\"\nsigma_deg = 0.5\n";
    let other = "\n[[dispersion]]\nof = \"yaw\"\nsigma_deg = 0.5\n";
    let text = |parts: &[&str]| Demo::Strip.text().to_owned() + &parts.concat();
    assert!(read("a.toml", &text(&[one, other]), &BuiltIn(&[])).is_ok());
    let refusal = read("a.toml", &text(&[one, other, one]), &BuiltIn(&[])).expect_err("pitch twice");
    let [problem] = refusal.problems.as_slice() else { panic!("{}", refusal.render(100, false)) };
    assert_eq!(problem.key, "dispersion[3].of");
    let whole = text(&[one, other, one]);
    // The last line but one.
    assert_eq!(refusal.line(problem), Some(whole.lines().count() - 1), "{}", refusal.render(100, false));
    assert!(problem.message.contains("dispersion[1] already"), "{}", problem.message);
}

#[test]
fn winds_may_come_from_a_file() {
    let text = changed("latest_h = 48.0", "latest_h = 48.0\nwinds_file = \"winds.csv\"");
    let start = text.find("[[wind]]").expect("winds");
    let without = &text[..start];
    let files = |csv: &str| BTreeMap::from([("winds.csv".to_owned(), csv.to_owned())]);
    let good = files("height_km,east_m_s,north_m_s,sigma_m_s\n0,5,0,2\n12,30,3,8\n");
    let loaded = read("a.toml", without, &good).unwrap_or_else(|refusal| panic!("{}", refusal.render(100, false)));
    assert_eq!(loaded.scenario.winds.len(), 2);
    assert_eq!(loaded.scenario.winds[1].height_m, 12e3);
    let both = read("a.toml", &text, &good).expect_err("both").render(100, false);
    assert!(both.contains("winds in the scenario too"), "{both}");
    let bad =
        read("a.toml", without, &files("height_km,east_m_s,north_m_s\n0,x,0\n")).expect_err("bad").render(100, false);
    assert!(bad.contains("line 2") && bad.contains("east_m_s"), "{bad}");
    let none = read("a.toml", without, &BuiltIn(&[])).expect_err("no file").render(100, false);
    assert!(none.contains("winds.csv") && none.contains("cannot be read"), "{none}");
}
