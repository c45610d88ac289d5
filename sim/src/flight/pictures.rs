//! Pictures of flown frames, for the report and for whoever asks for one frame.

use super::frames::JudgedFrame;
use crate::{
    imaging::{
        camera::{Camera, CameraKind},
        picture::{
            Key, Order, Picture,
            reading::{Reading, read},
            render,
            target::Target,
        },
    },
    record::columns::FramePoint,
    report::{FormatCell, SheetTile},
};
use nalgebra::Vector2;

/// Copies of the target in a picture that is read.
pub const COPIES: usize = 8;
/// Most pictures on the report's contact sheet.
const MOST_TILES: usize = 18;

/// A picture of one point of one exposure, and what can be read in it.
#[derive(Clone, Debug)]
pub struct Shown {
    /// The picture, [`COPIES`] targets side by side.
    pub picture: Picture,
    /// Width of one target, pixels.
    pub block_width: usize,
    /// What was read, on all copies together.
    pub reading: Reading,
    /// Line pair of the smallest bars read (along, across), m.
    pub read_m: [Option<f64>; 2],
    /// Sizes by which that is finer than the computed distance (along, across).
    pub steps_off: [i32; 2],
}

/// Renders and reads the picture of a point; `place` tells it from others of the same frame.
pub fn show(camera: &Camera, seed: u64, point: &FramePoint, place: u32) -> Shown {
    let target = Target::about(camera.wanted_grd_m);
    let mut path_m = [Vector2::zeros(); 5];
    for (at_m, (along, across)) in path_m.iter_mut().zip(point.path_along_m.iter().zip(&point.path_across_m)) {
        *at_m = Vector2::new(f64::from(*along), f64::from(*across));
    }
    let order = Order {
        camera,
        target: &target,
        ground_per_image: Vector2::from(point.ground_per_image.map(f64::from)),
        path_m,
        copies: COPIES,
        key: Key { seed, frame: point.frame, place },
    };
    let (picture, layout) = render(&order);
    let reading = read(&picture, &layout, target.line_pairs_m.len());
    Shown {
        block_width: layout.block_width,
        read_m: [0, 1].map(|axis| reading.line_pair_m(&target, axis)),
        steps_off: [0, 1].map(|axis| reading.steps_off(&target, axis, f64::from(point.grd_m[axis]))),
        picture,
        reading,
    }
}

/// The middle of a frame's format: the point nearest to it in the middle exposure, and its place in the list.
pub fn middle(points: &[FramePoint]) -> Option<(u32, &FramePoint)> {
    let last = points.iter().map(|point| point.exposure).max()?;
    let off = |point: &FramePoint| point.at_m[0].hypot(point.at_m[1]);
    let middle = points.iter().enumerate().filter(|(_, point)| point.exposure == last / 2);
    middle.min_by(|a, b| off(a.1).total_cmp(&off(b.1))).map(|(place, point)| (place as u32, point))
}

/// The report's contact sheet: best, median and worst frame, and others evenly spread over the run between them.
pub fn contact_sheet(camera: &Camera, seed: u64, frames: &[JudgedFrame]) -> Vec<SheetTile> {
    let mut ranked: Vec<usize> = (0..frames.len())
        .filter(|&index| frames[index].line.grd_m.is_finite() && !frames[index].points.is_empty())
        .collect();
    ranked.sort_by(|&a, &b| frames[a].line.grd_m.total_cmp(&frames[b].line.grd_m));
    let Some((&best, &worst)) = ranked.first().zip(ranked.last()) else { return Vec::new() };
    let median = ranked[ranked.len() / 2];
    let mut chosen: Vec<usize> = (0..MOST_TILES - 3).map(|k| k * frames.len() / (MOST_TILES - 3)).collect();
    chosen.retain(|index| ranked.contains(index));
    chosen.extend([best, median, worst]);
    chosen.sort_unstable();
    chosen.dedup();
    let mark = |index| match index {
        i if i == best => Some("best"),
        i if i == worst => Some("worst"),
        i if i == median => Some("median"),
        _ => None,
    };
    chosen.into_iter().filter_map(|index| tile(camera, seed, &frames[index], mark(index))).collect()
}

fn tile(camera: &Camera, seed: u64, frame: &JudgedFrame, mark: Option<&'static str>) -> Option<SheetTile> {
    let (place, point) = middle(&frame.points)?;
    let shown = show(camera, seed, point, place);
    // Copies differ by their grain alone; one is enough to look at.
    let one = shown.picture.left_part(shown.block_width);
    Some(SheetTile {
        number: frame.line.number,
        mark,
        area: frame.line.area.clone(),
        grd_m: point.grd_m.map(f64::from),
        read_m: shown.read_m,
        steps_off: shown.steps_off,
        png: one.small_png().ok()?,
        size: [one.width, one.height],
    })
}

/// Smear over the format, all frames together.
pub fn over_the_format(camera: &Camera, frames: &[JudgedFrame]) -> Vec<FormatCell> {
    let points: Vec<&FramePoint> = frames.iter().flat_map(|frame| &frame.points).collect();
    let place = |point: &FramePoint| {
        let swept_m = match camera.kind {
            CameraKind::Sweep => camera.focal_length_m * f64::from(point.sweep_angle_rad),
            CameraKind::Strip | CameraKind::Framing => 0.0,
        };
        // A tenth of a millimetre: sweeps are judged where a tick finds them, near the same angles.
        let round = |m: f64| (m * 1e4).round() / 1e4;
        [round(f64::from(point.at_m[0])), round(f64::from(point.at_m[1]) + swept_m)]
    };
    let mut places: Vec<[f64; 2]> = points.iter().map(|point| place(point)).collect();
    places.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    places.dedup();
    places.into_iter().map(|at| cell(at, points.iter().copied().filter(|point| place(point) == at))).collect()
}

fn cell(
    [along_m, across_m]: [f64; 2],
    points: impl Iterator<Item = impl std::borrow::Borrow<FramePoint>>,
) -> FormatCell {
    let points: Vec<_> = points.collect();
    let count = points.len() as f64;
    let mean = |of: &dyn Fn(&FramePoint) -> f32| points.iter().map(|p| f64::from(of(p.borrow()))).sum::<f64>() / count;
    let root = |axis: usize| mean(&|p| p.smear_m[axis] * p.smear_m[axis]).sqrt();
    let median = |axis: usize| {
        let mut grd: Vec<f32> = points.iter().map(|p| p.borrow().grd_m[axis]).collect();
        grd.sort_by(f32::total_cmp);
        f64::from(grd[grd.len() / 2])
    };
    FormatCell {
        along_m,
        across_m,
        mean_m: [mean(&|p| p.path_along_m[4]), mean(&|p| p.path_across_m[4])],
        rms_m: [root(0), root(1)],
        grd_m: [median(0), median(1)],
    }
}
