//! Ceilings of random small cases beside a brute force that shares no code with eaves; a million of
//! them are looked at by `benches/brute_force`.

#[path = "../../benches/brute_force/case.rs"]
mod case;
#[path = "../../benches/brute_force/check.rs"]
mod check;

#[test]
fn no_answer_is_optimistic() {
    for (seed, on_terrain) in [(71, false), (72, true)] {
        let folder = tempfile::tempdir().unwrap();
        let count = check::compare(folder.path(), seed, 300, on_terrain).unwrap();
        assert_eq!(count.optimistic, 0, "{count:?}");
        assert!(count.whole > 60 && count.part > 60, "{count:?}");
        // Nor are they uselessly low. On terrain the points miss the highest ground between them.
        assert!(count.doubtful < 6, "{count:?}");
        assert!(on_terrain || count.low < 6, "{count:?}");
    }
}
