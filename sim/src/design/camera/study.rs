//! A sizing as a whole.

use super::budget::Budget;
use super::choice::{Price, Relaxation, Requirement, lightest, missed, nearest, price, relaxations};
use super::model::{Candidate, Model};
use super::search::{pareto, search};
use super::terms::Terms;
use super::wants::Wants;

/// All cameras, the best of them, and the one to take.
#[derive(Clone, Debug, PartialEq)]
pub struct Study {
    /// Every camera evaluated.
    pub candidates: Vec<Candidate>,
    /// Terms that counted.
    pub terms: Terms,
    /// Places of the best in ground resolved distance against mass, lightest first, among those that meet every want
    /// but these two.
    pub front: Vec<usize>,
    /// The same without regard to swath and limits: what the optics could do.
    pub free_front: Vec<usize>,
    /// Place of the lightest camera that meets every want.
    pub chosen: Option<usize>,
    /// Place of the camera shown: the chosen one, or the one that comes nearest.
    pub shown: Option<usize>,
    /// What the shown camera misses.
    pub missed: Vec<Requirement>,
    /// Account of the shown camera.
    pub budget: Option<Budget>,
    /// If nothing was chosen: single wants that would let a camera through.
    pub relaxations: Vec<Relaxation>,
    /// What other ground resolved distances would take.
    pub prices: Vec<Price>,
}

impl Study {
    /// The camera at a place.
    pub fn at(&self, index: usize) -> Option<&Candidate> {
        self.candidates.get(index)
    }

    /// The camera shown.
    pub fn camera(&self) -> Option<&Candidate> {
        self.at(self.shown?)
    }
}

/// Searches, chooses and accounts.
pub fn size(wants: &Wants, terms: Terms) -> Study {
    let model = Model::new(wants);
    let candidates = search(&model, terms);
    let traded = [Requirement::Resolution, Requirement::Mass];
    let asks = |requirements: &[Requirement], camera: &Candidate| {
        requirements.iter().filter(|requirement| !traded.contains(requirement)).all(|r| r.met(wants, camera))
    };
    let chosen = lightest(wants, &candidates, &Requirement::ALL);
    let shown = chosen.or_else(|| nearest(wants, &candidates));
    let camera = shown.and_then(|index| candidates.get(index));
    let wanted = std::iter::once(&wants.mission.grd_m).chain(&wants.mission.also_grd_m);
    Study {
        terms,
        front: pareto(&candidates, |camera| asks(&Requirement::ALL, camera)),
        free_front: pareto(&candidates, |camera| asks(&Requirement::OPTICAL, camera)),
        chosen,
        shown,
        missed: camera.map_or_else(Vec::new, |camera| missed(wants, camera)),
        budget: camera.and_then(|camera| Budget::of(&model, camera, terms)),
        relaxations: if chosen.is_none() { relaxations(wants, &candidates) } else { Vec::new() },
        prices: wanted.map(|grd_m| price(wants, &candidates, *grd_m)).collect(),
        candidates,
    }
}
