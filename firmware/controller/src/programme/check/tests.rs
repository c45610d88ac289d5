extern crate std;
use super::*;
use crate::{attitude::orbit::Ephemeris, programme::load::Entry};

const AGAINST: Against = Against {
    counter: Some(3),
    longest_camera_s: 300.0,
    most_speed: 1000,
    speed: 300,
    film: FilmLeft { left_m: 20.0, step_m_s: Some(1e-4), advance_m: 0.0, cycle_ticks: 100, lead_ticks: 150 },
    ..Against::alone(10)
};
const ON: Command = Command::CameraOn { slit: 1, interval_ticks: 0 };
const OFF: Command = Command::CameraOff;

fn load(commands: &[(u32, Command)]) -> Load {
    Load {
        counter: 4,
        ephemeris: Ephemeris {
            epoch_tick: 0,
            phase: 1,
            phase_per_tick: 527_000_000,
            half_acceleration_rad_s2: 1e-11,
            inclination_rad: 1.43,
            radius_ratio2: 0.93,
        },
        entries: commands.iter().map(|&(tick, command)| Entry { tick, command }).collect(),
    }
}

fn judge(commands: &[(u32, Command)]) -> Result<(), LoadError> {
    load(commands).check(&AGAINST)
}

#[test]
fn what_could_harm_is_refused_by_name() {
    assert_eq!(judge(&[(100, ON)]), Err(LoadError::LeftOn));
    assert_eq!(judge(&[(100, ON), (200, ON)]), Err(LoadError::Camera(1)));
    assert_eq!(judge(&[(100, OFF)]), Err(LoadError::Camera(0)));
    assert_eq!(judge(&[(5, Command::Speed(1))]), Err(LoadError::Past(0)));
    assert_eq!(judge(&[(50, Command::Speed(1)), (40, Command::Speed(2))]), Err(LoadError::Order(1)));
    assert_eq!(judge(&[(100, ON), (30_101, OFF)]), Err(LoadError::TooLong(0)));
    assert_eq!(judge(&[(100, Command::Speed(1001))]), Err(LoadError::Entry(0)));
    let mut odd = load(&[]);
    odd.ephemeris.inclination_rad = f32::NAN;
    assert_eq!(odd.check(&AGAINST), Err(LoadError::Ephemeris));
    assert_eq!(judge(&[(100, ON), (3_100, OFF), (3_200, Command::Secure)]), Ok(()));
}

#[test]
fn counters_rise_and_none_is_the_last() {
    let counter =
        |counter: u16, last: u16| Load { counter, ..load(&[]) }.check(&Against { counter: Some(last), ..AGAINST });
    assert_eq!(counter(4, 4), Err(LoadError::Counter));
    assert_eq!(counter(3, 4), Err(LoadError::Counter));
    assert_eq!(counter(5, 4), Ok(()));
    assert_eq!(counter(0, u16::MAX), Ok(()), "a load with the largest counter must not lock the store");
    assert_eq!(counter(u16::MAX, 0), Err(LoadError::Counter));
}

#[test]
fn past_times_that_rolled_over_are_refused() {
    let now = Against { tick: 1_000, ..AGAINST };
    let at = |tick: u32| load(&[(tick, Command::Speed(1))]).check(&now);
    // Ten seconds before the clock's beginning.
    assert_eq!(at(0_u32.wrapping_sub(1_000)), Err(LoadError::Far(0)));
    assert_eq!(at(1_000 + FAR_S * TICKS_PER_S), Ok(()));
    assert_eq!(at(1_001 + FAR_S * TICKS_PER_S), Err(LoadError::Far(0)));
    // Near the end of the counter nothing may be planned beyond it.
    let late = Against { tick: u32::MAX - 500, ..AGAINST };
    let at = |tick: u32| load(&[(tick, Command::Speed(1))]).check(&late);
    assert_eq!((at(u32::MAX), at(3)), (Ok(()), Err(LoadError::Past(0))));
}

#[test]
fn film_is_reckoned_with_its_lead_and_every_speed() {
    // 30 mm/s for 200 s and 1.5 s of lead are 6.045 m; three times that are 18.135 m.
    let pass = |at: u32| [(at, ON), (at + 20_000, OFF)];
    let three = [pass(100), pass(30_000), pass(60_000)].concat();
    assert_eq!(judge(&three), Ok(()));
    let four = [three.clone(), pass(90_000).to_vec()].concat();
    assert_eq!(judge(&four), Err(LoadError::Film(6)));
    // Twice as fast half way through the last: 3 m more, 21.135 m.
    let mut faster = three;
    faster.insert(5, (70_000, Command::Speed(600)));
    assert_eq!(judge(&faster), Err(LoadError::Film(4)));
    // From 74,500 on it is 1.65 m more, 19.785 m.
    faster[5].0 = 74_500;
    assert_eq!(judge(&faster), Ok(()));
    // Pictures 2 s apart for 250 s are 126 of 120 mm, 15.12 m; again and it is too much.
    let steps = FilmLeft { step_m_s: None, advance_m: 0.12, ..AGAINST.film };
    let frames = Against { film: steps, ..AGAINST };
    let on = Command::CameraOn { slit: 1, interval_ticks: 200 };
    let two = [(100, on), (25_100, OFF), (40_000, on), (65_000, OFF)];
    assert_eq!(load(&two[..2]).check(&frames), Ok(()));
    assert_eq!(load(&two).check(&frames), Err(LoadError::Film(2)));
    let nothing_known = Against { film: FilmLeft { left_m: f32::NAN, ..steps }, ..AGAINST };
    assert_eq!(load(&two[..2]).check(&nothing_known), Err(LoadError::Film(0)), "no number must not pass");
}

#[test]
fn what_does_not_fit_the_state_of_the_mission_is_refused() {
    let secure = Command::Secure;
    let coarse = Command::Hold(Hold::Coarse);
    let fine = Command::Hold(Hold::Fine);
    assert_eq!(judge(&[(100, secure), (200, ON), (300, OFF)]), Err(LoadError::Phase(1)));
    assert_eq!(judge(&[(100, secure), (200, secure)]), Err(LoadError::Phase(1)));
    assert_eq!(judge(&[(100, coarse), (200, ON), (300, OFF)]), Err(LoadError::Phase(1)));
    assert_eq!(judge(&[(100, coarse), (150, fine), (200, ON), (300, OFF)]), Ok(()));
    assert_eq!(judge(&[(100, ON), (200, coarse), (300, OFF)]), Err(LoadError::Phase(1)));
    let pass = load(&[(10_000, ON), (11_000, OFF)]);
    assert_eq!(pass.check(&Against { secured: true, ..AGAINST }), Err(LoadError::Phase(0)));
    assert_eq!(pass.check(&Against { hold: Hold::Coarse, ..AGAINST }), Err(LoadError::Phase(0)));
    assert_eq!(pass.check(&Against { ready_tick: 10_001, ..AGAINST }), Err(LoadError::Phase(0)));
    assert_eq!(pass.check(&Against { ready_tick: 10_000, ..AGAINST }), Ok(()));
}

#[test]
fn no_load_leaves_the_receiver_off_or_a_timer_out_of_bounds() {
    let (on, off) = (Command::Receiver(true), Command::Receiver(false));
    let most = CLOSED_MOST_S * TICKS_PER_S;
    assert_eq!(judge(&[(100, off), (100 + most, on)]), Ok(()));
    assert_eq!(judge(&[(100, off), (101 + most, on)]), Err(LoadError::Receiver(0)));
    assert_eq!(judge(&[(100, off), (200, off), (300, on)]), Err(LoadError::Receiver(1)));
    assert_eq!(judge(&[(50, Command::Speed(1)), (100, off)]), Err(LoadError::Receiver(1)));
    let bounds = [
        (Command::OpenAfter as fn(u16) -> Command, OPEN_LEAST_S, OPEN_MOST_S),
        (Command::SafeAfter as fn(u16) -> Command, SAFE_LEAST_S, SAFE_MOST_S),
    ];
    for (command, least_s, most_s) in bounds {
        for minutes in 0..=u16::MAX {
            let inside = (least_s..=most_s).contains(&(u32::from(minutes) * 60));
            let expected = if inside { Ok(()) } else { Err(LoadError::Timer(0)) };
            assert_eq!(judge(&[(100, command(minutes))]), expected, "{minutes} minutes");
        }
    }
}
