//! Ceilings beside a brute force on random small cases, as many as asked for.
//!
//! `cargo run --release --example brute-force -- 1000000 [SEED]`; exit code 1 when an answer was
//! optimistic. The test suite runs some hundreds.

#![allow(clippy::print_stdout, reason = "a program to be run by hand")]

mod case;
mod check;

use std::process::ExitCode;

/// How many cases share layers.
const AT_A_TIME: usize = 10_000;

fn main() -> Result<ExitCode, Box<dyn std::error::Error>> {
    let mut numbers = std::env::args().skip(1).map(|text| text.parse::<usize>());
    let wanted = numbers.next().transpose()?.unwrap_or(AT_A_TIME);
    let seed = numbers.next().transpose()?.unwrap_or(1) as u64;
    let folder = tempfile::tempdir()?;
    let mut is_optimistic = false;
    for (name, on_terrain) in [("flat ground", false), ("terrain", true)] {
        let mut total = check::Count::default();
        let half = wanted.div_ceil(2);
        let start = std::time::Instant::now();
        for (round, done) in (0..half).step_by(AT_A_TIME).enumerate() {
            let count = AT_A_TIME.min(half - done);
            let seed = seed.wrapping_mul(1_000_003).wrapping_add(round as u64);
            total = total.with(check::compare(folder.path(), seed, count, on_terrain)?);
        }
        println!(
            "{name}: {} cases at {} points in {:.0} s: {} whole, {} in part, {} without; {} \
             optimistic; {} undetermined though covered; {} more than 0.15 m low, at most {:.2} m",
            total.cases,
            total.points,
            start.elapsed().as_secs_f64(),
            total.whole,
            total.part,
            total.cases - total.whole - total.part,
            total.optimistic,
            total.doubtful,
            total.low,
            total.lowest_m,
        );
        is_optimistic |= total.optimistic > 0;
    }
    Ok(ExitCode::from(u8::from(is_optimistic)))
}
