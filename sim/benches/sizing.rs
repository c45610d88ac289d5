//! Cameras evaluated in a second, on one thread and on all.

use divan::{Bencher, counter::ItemsCount};
use stillframe::design::camera::{demo::demo, model::Model, search::search, terms::Terms};

fn main() {
    divan::main();
}

/// The built-in wants on a tenth of their focal lengths.
#[divan::bench(args = [1, 0])]
fn cameras(bencher: Bencher<'_, '_>, threads: usize) {
    let mut wants = demo().expect("the built-in wants are sound");
    wants.search.focal_length_step_m *= 10.0;
    let model = Model::new(&wants);
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
    let count = search(&model, Terms::ALL).len();
    bencher.counter(ItemsCount::new(count)).bench_local(|| pool.install(|| search(&model, Terms::ALL)));
}
