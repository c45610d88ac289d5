//! The choice against trial of every choice there is.

use stillframe::passes::plan::choose::{Problem, choose};

/// Numbers that look random and are the same everywhere: a linear congruential generator with the constants of Knuth's
/// MMIX (*The Art of Computer Programming*, vol. 2).
struct Draws(u64);

impl Draws {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn below(&mut self, count: usize) -> usize {
        (self.unit() * count as f64) as usize
    }
}

/// One case, kept by the test in its own form.
struct Case {
    count: usize,
    /// Worth, sightings needed, bursts that see it.
    cells: Vec<(f64, usize, Vec<usize>)>,
    limits: Vec<(Vec<f64>, f64)>,
    times: Vec<[f64; 2]>,
    gap: f64,
}

impl Case {
    fn draw(seed: u64) -> Self {
        let mut draws = Draws(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
        let count = 1 + draws.below(10);
        let cells = (0..1 + draws.below(12)).map(|_| {
            let by: Vec<usize> = (0..count).filter(|_| draws.unit() < 0.35).collect();
            (0.1 + 5.0 * draws.unit(), 1 + usize::from(draws.unit() < 0.25), by)
        });
        let cells = cells.collect();
        let limits = (0..4).map(|_| {
            let costs: Vec<f64> = (0..count).map(|_| 0.2 + 3.0 * draws.unit()).collect();
            let most = costs.iter().sum::<f64>() * (0.2 + draws.unit());
            (costs, most)
        });
        let limits = limits.collect();
        let times = (0..count).map(|_| {
            let from = 400.0 * draws.unit();
            [from, from + 10.0 + 40.0 * draws.unit()]
        });
        Self { count, cells, limits, times: times.collect(), gap: 20.0 }
    }

    fn worth(&self, mask: u32) -> f64 {
        let seen = |by: &[usize]| by.iter().filter(|burst| mask & (1 << **burst) != 0).count();
        self.cells.iter().filter(|(_, need, by)| seen(by) >= *need).map(|(worth, _, _)| worth).sum()
    }

    fn allowed(&self, mask: u32) -> bool {
        let mine = |burst: &usize| mask & (1 << *burst) != 0;
        let picked: Vec<usize> = (0..self.count).filter(mine).collect();
        let cheap = self.limits.iter().all(|(costs, most)| picked.iter().map(|&b| costs[b]).sum::<f64>() <= *most);
        let mut times: Vec<[f64; 2]> = picked.iter().map(|&b| self.times[b]).collect();
        times.sort_by(|a, b| a[0].total_cmp(&b[0]));
        cheap && times.windows(2).all(|pair| pair[1][0] >= pair[0][1] + self.gap)
    }

    /// The best of all 2ⁿ choices.
    fn by_trying(&self) -> f64 {
        (0..1_u32 << self.count).filter(|&mask| self.allowed(mask)).map(|mask| self.worth(mask)).fold(0.0, f64::max)
    }

    fn problem(&self) -> Problem {
        let mut problem = Problem::new(self.count);
        self.cells.iter().for_each(|(worth, need, by)| problem.add_cell(*worth, *need as u32, by.clone()));
        self.limits.iter().for_each(|(costs, most)| problem.add_limit(costs.clone(), *most));
        problem.keep_apart(&self.times, self.gap);
        problem
    }
}

/// 300 cases of up to ten bursts: the choice is as good as the best of all choices, keeps every limit, says that it is
/// exact, and neither its bound nor its relaxation is beaten by any choice.
#[test]
fn no_choice_is_better() {
    let mut greedy_missed = 0;
    for seed in 0..300 {
        let case = Case::draw(seed);
        let best = case.by_trying();
        let choice = choose(&case.problem()).expect("solved");
        let mask = choice.picked.iter().fold(0, |mask, burst| mask | 1 << burst);
        assert!(case.allowed(mask), "case {seed}: {:?} breaks a limit", choice.picked);
        assert!((case.worth(mask) - best).abs() < 1e-9, "case {seed}: {} of {best}", case.worth(mask));
        assert!((choice.value - best).abs() < 1e-9 && choice.exact, "case {seed}: {choice:?}");
        assert!(choice.bound >= best - 1e-9 && choice.relaxed >= best - 1e-6, "case {seed}: {choice:?}");
        greedy_missed += usize::from(taking_the_best_first(&case) < best - 1e-9);
    }
    // A control: the cases are not so easy that anything would do.
    assert!(greedy_missed > 30, "the best first would have done in all but {greedy_missed} cases");
}

fn taking_the_best_first(case: &Case) -> f64 {
    let mut mask = 0_u32;
    loop {
        let next = (0..case.count).map(|burst| mask | 1 << burst).filter(|&m| m != mask && case.allowed(m));
        match next.max_by(|&a, &b| case.worth(a).total_cmp(&case.worth(b))) {
            Some(better) if case.worth(better) > case.worth(mask) => mask = better,
            _ => return case.worth(mask),
        }
    }
}

/// A large case ends with a bound and a gap, the same twice.
#[test]
fn a_large_choice_comes_with_its_bound() {
    let mut draws = Draws(7);
    let count = 120;
    let mut problem = Problem::new(count);
    for burst in 0..count {
        problem.add_cell(1.0 + draws.unit(), 1, vec![burst]);
    }
    for _ in 0..150 {
        let mut by = vec![draws.below(count), draws.below(count), draws.below(count)];
        by.sort_unstable();
        by.dedup();
        problem.add_cell(draws.unit(), 1, by);
    }
    problem.add_limit((0..count).map(|_| 1.0 + draws.unit()).collect(), 50.0);
    let choice = choose(&problem).expect("solved");
    assert!(problem.allowed(&choice.picked));
    assert!(choice.value > 0.0 && choice.bound >= choice.value && choice.relaxed >= choice.bound - 1e-6);
    assert!(choice.gap() < 0.02, "{choice:?}");
    assert_eq!(choose(&problem).expect("solved"), choice);
}
