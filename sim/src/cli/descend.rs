//! `descend`: load and check, study, tell.

use indicatif::{ProgressBar, ProgressStyle};

use super::descend_args::{DescendArgs, Fault};
use super::exit::Exit;
use super::{out, print, show};
use crate::descent::repredict::{LateFacts, News};
use crate::descent::{DescentError, Faults, Options, Study, screen, study, write_folder};
use crate::flight::build::BuildError;
use crate::scenario::demo::Demo;
use crate::scenario::{Loaded, load};

pub(super) fn descend(args: &DescendArgs) -> Result<(), Exit> {
    let loaded = match &args.scenario {
        Some(path) => load(path),
        None => Demo::Strip.load(),
    }
    .map_err(|refusal| show(&refusal))?;
    let options = options(args, &loaded);
    let made = with_progress(args.quiet, |progress| study(&loaded, &options, progress)).map_err(|e| refused(&e))?;
    tell(args, &loaded, &made)
}

fn options(args: &DescendArgs, loaded: &Loaded) -> Options {
    let mut faults = Faults::default();
    for fault in &args.fault {
        match *fault {
            Fault::RetroPitch(deg) => faults.pitch_rad = deg.to_radians(),
            Fault::RetroYaw(deg) => faults.yaw_rad = deg.to_radians(),
            Fault::LowImpulse(percent) => faults.impulse_missing = 0.01 * percent,
            Fault::SpinFailed(rpm) => faults.spin_rad_s = Some(rpm * std::f64::consts::TAU / 60.0),
            Fault::EarlyDrogue(early_s) => faults.early_drogue_s = early_s,
            Fault::GSwitchDead => faults.g_switch_dead = true,
            Fault::DrogueFailed => faults.drogue_dead = true,
            Fault::MainFailed => faults.main_dead = true,
        }
    }
    Options {
        runs: args.runs,
        seed: args.seed,
        pass: args.pass.map(|pass| pass as usize),
        angle_rad: args.angle_deg.map(f64::to_radians),
        faults,
        late: late(args, loaded),
        ..Options::default()
    }
}

fn late(args: &DescendArgs, loaded: &Loaded) -> Option<LateFacts> {
    let news = match (args.retro_heard, args.retro_not_heard) {
        (Some(at), _) => News::Heard {
            time_s: at.duration_since(loaded.scenario.run.start.0).as_secs_f64(),
            sigma_s: args.heard_sigma_s,
        },
        (None, true) => News::NotHeard,
        (None, false) => News::None,
    };
    let drift_m = args.orbit_drift_m.map(|m| (m, args.drift_sigma_m.unwrap_or((0.1 * m.abs()).max(500.0))));
    let facts = LateFacts { news, drift_m };
    (facts != LateFacts::default()).then_some(facts)
}

fn with_progress(
    quiet: bool,
    work: impl FnOnce(&(dyn Fn(f64) + Sync)) -> Result<Study, DescentError>,
) -> Result<Study, DescentError> {
    let bar = if quiet { ProgressBar::hidden() } else { ProgressBar::new(1000) };
    let style = ProgressStyle::with_template("descents {wide_bar} {percent:>3} %  {eta} left");
    bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
    let done = work(&|share| bar.set_position((1000.0 * share) as u64));
    bar.finish_and_clear();
    done
}

fn tell(args: &DescendArgs, loaded: &Loaded, made: &Study) -> Result<(), Exit> {
    let name = format!("{}-descent", loaded.scenario.run.name);
    let folder = out::folder(args.out.as_deref(), &name, made.summary.seed).map_err(|error| {
        eprintln!("stillframe: {error}. Nothing was written.");
        Exit::Refused
    })?;
    write_folder(&folder, made).map_err(|error| {
        eprintln!("stillframe: {error}");
        Exit::Files
    })?;
    match (args.json, args.quiet) {
        (true, _) => print(&made.summary.to_json()),
        (false, true) => Ok(()),
        (false, false) => {
            let text = screen(&made.summary);
            let place = folder.display();
            print(&format!("{text}\nResults: {place}\nOpen {} in a browser.", folder.join("report.html").display()))
        }
    }
}

fn refused(error: &DescentError) -> Exit {
    if let DescentError::Build(BuildError::Refused(refusal)) = error {
        return show(refusal);
    }
    eprintln!("stillframe: {error}. Nothing was written.");
    Exit::Refused
}
