//! `picture`: what a frame of a finished run would show.

use std::path::Path;

use super::args::PictureArgs;
use super::exit::Exit;
use super::print;
use crate::flight::CAMERA_KEY;
use crate::flight::pictures::{self, Shown};
use crate::imaging::camera::Camera;
use crate::imaging::picture::sheet;
use crate::record::columns::FramePoint;
use crate::record::files;
use crate::record::points::Points;

pub(super) fn picture(args: &PictureArgs) -> Result<(), Exit> {
    let run = Run::read(&args.results)?;
    match args.frame {
        Some(number) => run.one(number, args),
        None => run.all(),
    }
}

/// A finished run, as far as pictures need it.
struct Run {
    camera: Camera,
    seed: u64,
    points: Vec<FramePoint>,
}

impl Run {
    fn read(folder: &Path) -> Result<Self, Exit> {
        let path = folder.join(files::POINTS);
        let points = Points::read(&path).map_err(|error| {
            eprintln!("stillframe: {error}. Give the folder of a finished run.");
            Exit::Files
        })?;
        let camera = points.metadata(CAMERA_KEY).and_then(|text| serde_json::from_str(text).ok());
        let seed = points.metadata("stillframe.seed").and_then(|text| text.parse().ok());
        let Some((camera, seed)) = camera.zip(seed) else {
            eprintln!(
                "stillframe: {} does not say which camera took it: another version of the program wrote it.",
                path.display()
            );
            return Err(Exit::Files);
        };
        Ok(Self { camera, seed, points: points.rows })
    }

    fn frame(&self, number: u32) -> Vec<FramePoint> {
        self.points.iter().filter(|point| point.frame == number).cloned().collect()
    }

    /// Draws one frame's pictures and tells what can be read in each.
    fn one(&self, number: u32, args: &PictureArgs) -> Result<(), Exit> {
        let points = self.frame(number);
        if points.is_empty() {
            eprintln!(
                "stillframe: no frame {number} was judged in this run; `stillframe picture {}` lists them.",
                args.results.display()
            );
            return Err(Exit::Refused);
        }
        let file = args.out.clone().unwrap_or_else(|| args.results.join(format!("frame-{number:04}.png")));
        refuse_taken(&file)?;
        let mut rows: Vec<Vec<_>> = Vec::new();
        let mut text = format!(
            "frame {number}: {} pictures, exposure by exposure, each row along the track\n  exposure   along, mm  across, mm   smear, µm (along | across)   computed, m      read, m\n",
            points.len()
        );
        for (place, point) in points.iter().enumerate() {
            let shown = pictures::show(&self.camera, self.seed, point, place as u32);
            text += &line(&self.camera, point, &shown);
            let same_row = place
                .checked_sub(1)
                .and_then(|before| points.get(before))
                .is_some_and(|before| before.exposure == point.exposure && before.at_m[0] == point.at_m[0]);
            let one = shown.picture.left_part(shown.block_width);
            match rows.last_mut() {
                Some(row) if same_row => row.push(one),
                _ => rows.push(vec![one]),
            }
        }
        // Flight is up: what lies ahead comes first.
        rows.reverse();
        let png = sheet::arrange(&rows).png().map_err(|_| Exit::Files)?;
        std::fs::write(&file, png).map_err(|error| {
            eprintln!("stillframe: {} cannot be written: {error}", file.display());
            Exit::Files
        })?;
        print(&format!("{text}Wrote {}.", file.display()))
    }

    /// Reads the middle of every frame and compares.
    fn all(&self) -> Result<(), Exit> {
        let mut text = String::from("frame   computed, m (along | across)   read, m        sizes off\n");
        let (mut close, mut count) = (0, 0);
        let last = self.points.last().map_or(0, |point| point.frame);
        let first = self.points.first().map_or(1, |point| point.frame);
        for number in first..=last {
            let points = self.frame(number);
            let Some((place, point)) = pictures::middle(&points) else { continue };
            let shown = pictures::show(&self.camera, self.seed, point, place);
            let [along, across] = shown.steps_off;
            count += 2;
            close += [along, across].iter().filter(|steps| steps.abs() <= 1).count();
            let (computed, read) = (both(point.grd_m.map(|m| Some(f64::from(m)))), both(shown.read_m));
            text += &format!("{number:>5}   {computed:<30}   {read:<14} {along:>2} | {across:>2}\n");
        }
        print(&format!("{text}{close} of {count} readings are within one size of the computed distance."))
    }
}

fn both(values_m: [Option<f64>; 2]) -> String {
    values_m.map(|m| m.map_or_else(|| "none".into(), |m| format!("{m:.2}"))).join(" | ")
}

fn line(camera: &Camera, point: &FramePoint, shown: &Shown) -> String {
    let across_m = f64::from(point.at_m[1]) + camera.focal_length_m * f64::from(point.sweep_angle_rad);
    let smear_um = point.smear_m.map(|m| Some(1e6 * f64::from(m)));
    format!(
        "  {:>8}   {:>9.1}  {:>10.1}   {:<27}  {:<16} {}\n",
        point.exposure,
        1e3 * point.at_m[0],
        1e3 * across_m,
        both(smear_um),
        both(point.grd_m.map(|m| Some(f64::from(m)))),
        both(shown.read_m),
    )
}

fn refuse_taken(file: &Path) -> Result<(), Exit> {
    if file.exists() {
        eprintln!("stillframe: {} exists and is left alone. Choose another name with --out.", file.display());
        return Err(Exit::Refused);
    }
    Ok(())
}
