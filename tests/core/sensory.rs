//! Blind tests against published tables and exact enumeration.
#![allow(clippy::expect_used, reason = "helpers of tests")]

use serde_json::Value;
use thirdpull::sensory::{
    discrimination::{Method, exact_range, two_sided},
    likings::paired,
    plan::{discrimination_plan, orders, ranking_plan, williams},
    ranking::{friedman, page},
};

fn data() -> Value {
    let path = format!("{}/tests/data/tasting-statistics.json", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(path).expect("check file is there"))
        .expect("check file is JSON")
}

fn near(got: f64, want: f64, tolerance: f64, what: &str) {
    assert!((got - want).abs() <= tolerance, "{what}: got {got}, want {want}");
}

fn list(case: &Value, key: &str) -> Vec<f64> {
    case[key].as_array().map(|a| a.iter().filter_map(Value::as_f64).collect()).unwrap_or_default()
}

/// The check file's cases (scipy 1.17, statsmodels 0.15, enumeration).
#[test]
fn check_file() {
    let file = data();
    let mut seen = 0;
    for case in file["cases"].as_array().unwrap() {
        let id = case["id"].as_str().unwrap();
        let num = |key: &str| case[key].as_f64().unwrap();
        match id.split('-').next().unwrap() {
            "binom" => {
                seen += 1;
                let (k, n, p) = (num("successes") as u32, num("n") as u32, num("p0"));
                let method = if p < 0.4 { Method::Triangle } else { Method::PairedOneSided };
                near(method.p_value(k, n), num("p_greater"), 1e-12, id);
                near(two_sided(k, n, p), num("p_two_sided"), 1e-12, id);
                let want = list(case, "clopper_pearson95");
                let (low, high) = exact_range(k, n, 0.95);
                near(low, want[0], 1e-10, id);
                near(high, want[1], 1e-10, id);
            }
            "triangle" => {
                seen += 1;
                for (i, n) in list(case, "n").iter().enumerate() {
                    let want = |key: &str| case[key][i].as_u64().map(|v| v as u32);
                    let n = *n as u32;
                    assert_eq!(Method::Triangle.critical(n, 0.05), want("triangle_05"), "n {n}");
                    assert_eq!(Method::Triangle.critical(n, 0.01), want("triangle_01"), "n {n}");
                    assert_eq!(Method::PairedOneSided.critical(n, 0.05), want("pair_one_sided_05"), "n {n}");
                }
            }
            "paired" => {
                seen += 1;
                // The file takes the second less the first.
                let got = paired(&list(case, "b"), &list(case, "a")).unwrap();
                near(got.mean, num("mean_difference"), 1e-12, id);
                let student = got.student.expect("the differences have a spread");
                near(student.t, num("t"), 1e-10, id);
                near(student.p, num("t_p"), 1e-10, id);
                let range = list(case, "t_ci95");
                near(student.range95.0, range[0], 1e-9, id);
                near(student.range95.1, range[1], 1e-9, id);
                near(got.w_plus, num("signed_rank_W_plus"), 1e-12, id);
                near(got.signed_rank_p, num("signed_rank_p_exact_zeros_dropped"), 1e-12, id);
                near(got.sign_flip_p, num("sign_flip_permutation_p_exact"), 1e-12, id);
            }
            "friedman" => {
                seen += 1;
                let table: Vec<Vec<f64>> = case["table"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .map(|r| r.as_array().unwrap().iter().filter_map(Value::as_f64).collect())
                    .collect();
                let got = friedman(&table).unwrap();
                near(got.statistic, num("chi2"), 1e-10, id);
                near(got.p_chi_square, num("p"), 1e-10, id);
                near(got.agreement, num("kendall_W"), 1e-10, id);
                assert_eq!(got.rank_sums, list(case, "rank_sums"), "{id}");
            }
            _ => {}
        }
    }
    assert!(seen >= 10, "{seen}");
}

/// FAO, appendix A, "Triangle test for difference: critical number (minimum) of correct answers" (V7180E): rows
/// n 6, 12, 24, 36, 60 at 10, 5, 1 and 0.1 %; ISO 10399 Table A.1 as adopted in GOST ISO 10399-2015: rows 6, 12, 24, 60.
#[test]
fn printed_tables() {
    for (n, want) in [
        (6, [Some(5), Some(5), Some(6), None]),
        (12, [Some(7), Some(8), Some(9), Some(10)]),
        (24, [Some(12), Some(13), Some(15), Some(16)]),
        (36, [Some(17), Some(18), Some(20), Some(22)]),
        (60, [Some(26), Some(27), Some(30), Some(33)]),
    ] {
        assert_eq!([0.1, 0.05, 0.01, 0.001].map(|a| Method::Triangle.critical(n, a)), want, "triangle {n}");
    }
    for (n, want) in [
        (6, [Some(6), Some(6), None, None]),
        (12, [Some(9), Some(10), Some(11), Some(12)]),
        (24, [Some(16), Some(17), Some(19), Some(20)]),
        (60, [Some(36), Some(37), Some(40), Some(43)]),
    ] {
        assert_eq!([0.1, 0.05, 0.01, 0.001].map(|a| Method::DuoTrio.critical(n, a)), want, "duo-trio {n}");
    }
    assert_eq!(
        [0.1, 0.05, 0.01].map(|a| Method::PairedTwoSided.critical(20, a)),
        [Some(15), Some(15), Some(17)]
    );
}

/// Power of the table in the reference note (exact binomial), and its saw-tooth.
#[test]
fn power() {
    for (n, pd, want) in [(6, 0.2, 0.081), (12, 0.5, 0.632), (24, 0.3, 0.550), (60, 0.4, 0.993)] {
        near(Method::Triangle.power(n, 0.05, pd), want, 6e-4, "triangle");
    }
    for (n, pd, want) in [(18, 0.4, 0.534), (48, 0.5, 0.963)] {
        near(Method::DuoTrio.power(n, 0.05, pd), want, 6e-4, "duo-trio");
    }
    assert!(Method::Triangle.power(24, 0.05, 0.2) < Method::Triangle.power(18, 0.05, 0.2));
    let n = Method::Triangle.answers_for(0.05, 0.5, 0.8).unwrap();
    assert!((n..n + 30).all(|m| Method::Triangle.power(m, 0.05, 0.5) >= 0.8));
    assert!(Method::Triangle.power(n - 1, 0.05, 0.5) < 0.8);
    assert_eq!(Method::Triangle.critical(0, 0.05), None);
}

/// ISO 8587 annex A as reproduced on a sensory-analysis page: 8 assessors, 5 samples, rank sums 17 31 32 23 17,
/// F 10.60, LSD 12.40; and the note's worked ranking of four by ten.
#[test]
fn ranking() {
    let rows = ["1234", "2134", "1324", "1243", "2143", "1324", "1234", "3124", "1243", "2134"];
    let table: Vec<Vec<f64>> =
        rows.iter().map(|r| r.chars().filter_map(|c| c.to_digit(10)).map(f64::from).collect()).collect();
    let got = friedman(&table).unwrap();
    assert_eq!(got.rank_sums, [15.0, 18.0, 30.0, 37.0]);
    near(got.statistic, 19.08, 0.005, "F");
    near(got.p_chi_square, 0.000_26, 5e-6, "p");
    near(got.least_difference, 11.32, 0.005, "LSD");
    let (l, z, p) = page(&got.rank_sums, 10);
    assert_eq!(l, 289.0);
    assert!(z > 2.326 && p < 0.01);
    // ISO's own 5 % limit for these numbers, 265.0.
    near(l - (z - 1.645) * (289.0 - 250.0) / z, 265.0, 0.05, "limit");
    // The annex's own table is not at hand: another with its rank sums.
    let rows = ["15423", "15234", "15432", "24531", "35421", "15342", "41532", "41532"];
    let table: Vec<Vec<f64>> =
        rows.iter().map(|r| r.chars().filter_map(|c| c.to_digit(10)).map(f64::from).collect()).collect();
    let got = friedman(&table).unwrap();
    assert_eq!(got.rank_sums, [17.0, 31.0, 32.0, 23.0, 17.0]);
    near(got.statistic, 10.60, 0.005, "annex A, F");
    near(got.least_difference, 12.40, 0.005, "annex A, LSD");
    // Exact against the printed table of Friedman's statistic for 3 samples and 4 rows: P(F ≥ 6.5) = 0.042,
    // P(F ≥ 8) = 0.0046 (Siegel 1956, Table N [memory]).
    let rows = [[1., 2., 3.], [1., 2., 3.], [1., 2., 3.], [1., 2., 3.]].map(|r| r.to_vec());
    near(friedman(&rows).unwrap().p_exact.unwrap(), 0.0046, 5e-5, "exact, all agree");
    let rows = [[1., 2., 3.], [1., 2., 3.], [1., 2., 3.], [1., 3., 2.]].map(|r| r.to_vec());
    let got = friedman(&rows).unwrap();
    near(got.statistic, 6.5, 1e-12, "F");
    near(got.p_exact.unwrap(), 0.042, 5e-4, "exact");
    assert!(friedman(&[vec![1.0, f64::NAN], vec![1.0, 2.0]]).is_none());
}

/// Williams 1949: each ordered pair of neighbours equally often, each sample in each place equally often.
#[test]
fn williams_squares_balance() {
    for p in 2..=9 {
        let rows = williams(p);
        assert_eq!(rows.len(), if p % 2 == 0 { p } else { 2 * p });
        let (mut pairs, mut places) = (vec![0; p * p], vec![0; p * p]);
        for row in &rows {
            for (at, s) in row.iter().enumerate() {
                places[at * p + s] += 1;
            }
            for w in row.windows(2) {
                pairs[w[0] * p + w[1]] += 1;
            }
        }
        let each = rows.len() / p;
        assert!(places.iter().all(|n| *n == each), "places, p {p}");
        assert!((0..p * p).all(|i| pairs[i] == if i / p == i % p { 0 } else { each }), "pairs, p {p}");
    }
    assert!(williams(0).is_empty());
}

#[test]
fn plans_are_balanced_and_blind() {
    for method in [Method::Triangle, Method::DuoTrio, Method::PairedOneSided] {
        let all = orders(method);
        let plan = discrimination_plan(method, 12, 1, 9);
        assert_eq!(plan.len(), 12);
        for (order, right) in &all {
            let used = plan.iter().filter(|s| s.order == *order).count();
            assert_eq!(used, 12 / all.len(), "{method:?} {order:?}");
            assert!(plan.iter().filter(|s| s.order == *order).all(|s| s.right == Some(*right)));
        }
        for s in &plan {
            let mut codes = s.codes.clone();
            codes.sort_unstable();
            codes.dedup();
            assert!(codes.len() == s.order.len() && codes.iter().all(|c| (100..1000).contains(c)));
        }
        assert_eq!(plan, discrimination_plan(method, 12, 1, 9));
        assert_ne!(plan, discrimination_plan(method, 12, 1, 10));
    }
    // The odd cup stands in each place equally often.
    let plan = discrimination_plan(Method::Triangle, 6, 3, 4);
    for place in 0..3 {
        assert_eq!(plan.iter().filter(|s| s.right == Some(place)).count(), 6);
    }
    let plan = ranking_plan(4, 8, 2);
    for place in 0..4 {
        for sample in 0..4 {
            assert_eq!(plan.iter().filter(|s| s.order[place] == sample).count(), 2);
        }
    }
}

#[test]
fn odd_input_is_answered() {
    assert!(paired(&[1.0], &[2.0]).is_none());
    let same = paired(&[5.0, 6.0, 7.0], &[5.0, 6.0, 7.0]).unwrap();
    assert_eq!((same.student, same.signed_rank_p, same.sign_flip_p), (None, 1.0, 1.0));
    assert_eq!(Method::Triangle.can_tell(0, 0, 0.95), None);
    let (share, (low, high)) = Method::Triangle.can_tell(15, 24, 0.95).unwrap();
    assert!(low < share && share < high && low > 0.0);
    assert_eq!(Method::PairedTwoSided.p_value(99, 10), Method::PairedTwoSided.p_value(10, 10));
}

/// Two tasters who differ by as much: of the four ways in which the signs could have fallen, two are as far off. Student's t
/// has no spread to go by there, and says nothing.
#[test]
fn differences_without_a_spread_leave_students_t_open() {
    let got = paired(&[6.0, 7.0], &[5.0, 6.0]).unwrap();
    near(got.sign_flip_p, 0.5, 1e-12, "exact");
    assert_eq!(got.student, None, "{got:?}");
    // Alike but for the rounding of tenths.
    assert_eq!(paired(&[6.1, 7.2, 5.3], &[5.1, 6.2, 4.3]).unwrap().student, None);
    // Likings in tenths rank as the same in whole numbers do: differences of 0.2, 0.2, 0.2 and -0.4 tie. By hand: ranks 2, 2,
    // 2 and 4, a sum of 6 on the plus side, the middle of what is possible.
    let tenths = paired(&[6.3, 5.2, 7.1, 4.0], &[6.1, 5.0, 6.9, 4.4]).unwrap();
    assert_eq!((tenths.w_plus, tenths.signed_rank_p), (6.0, 1.0));
    assert_eq!(paired(&[6.3, 5.2], &[6.1, 5.2]).unwrap().w_plus, 1.0);
    near(got.mean, 1.0, 1e-12, "the mean stands");
}
