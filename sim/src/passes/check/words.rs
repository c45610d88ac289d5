//! Commands of a load in words, and back: one line each, as listings and messages show them.

use stillframe_controller::{attitude::mode::Hold, exposure::ANY_SLIT, programme::load::Command};

/// What every command may look like, for messages.
pub const KNOWN: &str = "camera_on slit N|auto [every TICKS], camera_off, speed STEPS, hold fine|coarse|drift|turned, \
                         v_over_h UNITS, cut_and_seal, receiver on|off, open_after MINUTES, safe_after MINUTES";

/// A command in words. Slits count from 1, as in scenario files; 1 is setting 0 on the wire.
pub fn words(command: Command) -> String {
    match command {
        Command::CameraOn { slit, interval_ticks } => {
            let slit = if slit == ANY_SLIT { "auto".to_owned() } else { (u16::from(slit) + 1).to_string() };
            let every = if interval_ticks == 0 { String::new() } else { format!(" every {interval_ticks}") };
            format!("camera_on slit {slit}{every}")
        }
        Command::CameraOff => "camera_off".to_owned(),
        Command::Speed(step) => format!("speed {step}"),
        Command::Hold(hold) => format!("hold {}", hold_word(hold)),
        Command::Secure => "cut_and_seal".to_owned(),
        Command::Expect(units) => format!("v_over_h {units}"),
        Command::Receiver(on) => format!("receiver {}", if on { "on" } else { "off" }),
        Command::OpenAfter(minutes) => format!("open_after {minutes}"),
        Command::SafeAfter(minutes) => format!("safe_after {minutes}"),
    }
}

/// Name of a hold.
pub fn hold_word(hold: Hold) -> &'static str {
    match hold {
        Hold::Fine => "fine",
        Hold::Coarse => "coarse",
        Hold::Drift => "drift",
        Hold::Turned => "turned",
    }
}

/// A command from its words.
///
/// # Errors
/// What is wrong with them, as half a sentence.
pub fn command(words: &[&str]) -> Result<Command, String> {
    Ok(match words {
        ["camera_on", "slit", slit] => Command::CameraOn { slit: slit_of(slit)?, interval_ticks: 0 },
        ["camera_on", "slit", slit, "every", ticks] => {
            Command::CameraOn { slit: slit_of(slit)?, interval_ticks: whole(ticks, 1, u32::from(u16::MAX))? as u16 }
        }
        ["camera_off"] => Command::CameraOff,
        ["speed", steps] => Command::Speed(whole(steps, 0, u32::from(u16::MAX))? as u16),
        ["hold", "fine"] => Command::Hold(Hold::Fine),
        ["hold", "coarse"] => Command::Hold(Hold::Coarse),
        ["hold", "drift"] => Command::Hold(Hold::Drift),
        ["hold", "turned"] => Command::Hold(Hold::Turned),
        ["cut_and_seal"] => Command::Secure,
        ["receiver", "on"] => Command::Receiver(true),
        ["receiver", "off"] => Command::Receiver(false),
        ["open_after", minutes] => Command::OpenAfter(whole(minutes, 0, u32::from(u16::MAX))? as u16),
        ["safe_after", minutes] => Command::SafeAfter(whole(minutes, 0, u32::from(u16::MAX))? as u16),
        ["v_over_h", units] => Command::Expect(whole(units, 0, 0x00ff_ffff)?),
        [] => return Err("there is a time but no command".to_owned()),
        [first, ..] => return Err(format!("'{}' is no command that begins with {first}", words.join(" "))),
    })
}

fn slit_of(word: &str) -> Result<u8, String> {
    if word == "auto" {
        return Ok(ANY_SLIT);
    }
    Ok((whole(word, 1, u32::from(ANY_SLIT))? - 1) as u8)
}

/// A whole number between bounds.
///
/// # Errors
/// What is wrong with it, as half a sentence.
pub fn whole(word: &str, low: u32, high: u32) -> Result<u32, String> {
    let number: Option<u32> = word.parse().ok().filter(|number| (low..=high).contains(number));
    number.ok_or_else(|| format!("'{word}' is no whole number from {low} to {high}"))
}
