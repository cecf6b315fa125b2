//! A window with flags means the same as the code that its bits make up, however the samples are cut.

use arrow::array::BooleanArray;
use arrow::datatypes::{Field, Fields};
use datafusion::logical_expr::{EmitTo, GroupsAccumulator};
use proptest::prelude::*;

use super::*;
use crate::runs::{Ends, UNSURE_CODE};

/// Window, two flags, and a number of which the ends are kept: as it is, as a state, and as a flag that says
/// whether it is odd.
type Flagged = (Option<bool>, Option<bool>, Option<bool>, Option<f32>);

fn code((window, one, two, _): &Flagged) -> i8 {
    let set = |flag: &Option<bool>, weight| if *flag == Some(true) { weight } else { 0 };
    match window {
        None => UNSURE_CODE,
        Some(false) => 0,
        Some(true) => 1 + set(one, 2) + set(two, 4),
    }
}

fn layout() -> Layout {
    Layout {
        values: names(&["a"]),
        ends: names(&["a", "state", "odd"]),
        carried: vec![],
    }
}

/// The samples as one argument, cut out of a longer one so that bits begin anywhere.
fn argument(samples: &[Flagged], stray: usize) -> ArrayRef {
    let padded: Vec<Flagged> =
        std::iter::repeat_n((Some(true), None, Some(true), Some(9.0)), stray)
            .chain(samples.iter().copied())
            .collect();
    let flag = |of: fn(&Flagged) -> Option<bool>| -> ArrayRef {
        Arc::new(padded.iter().map(of).collect::<BooleanArray>())
    };
    let number: ArrayRef = Arc::new(padded.iter().map(|s| s.3).collect::<Float32Array>());
    let whole = || padded.iter().map(|s| s.3.map(|number| number as i8));
    let state: ArrayRef = Arc::new(whole().collect::<Int8Array>());
    let odd = whole().map(|state| state.map(|state| state % 2 == 1));
    let odd: ArrayRef = Arc::new(odd.collect::<BooleanArray>());
    let names = ["window", "f_0", "f_1"].map(|name| Field::new(name, DataType::Boolean, true));
    let numbers = [
        ("v_a", DataType::Float32),
        ("e_a", DataType::Float32),
        ("e_state", DataType::Int8),
        ("e_odd", DataType::Boolean),
    ];
    let numbers = numbers.map(|(name, kind)| Field::new(name, kind, true));
    let fields: Fields = names.into_iter().chain(numbers).collect();
    let columns = vec![
        flag(|s| s.0),
        flag(|s| s.1),
        flag(|s| s.2),
        number.clone(),
        number,
        state,
        odd,
    ];
    let whole: ArrayRef = Arc::new(StructArray::new(fields, columns, None));
    whole.slice(stray, samples.len())
}

fn compressed(samples: &[Flagged], batch: usize, stray: usize) -> Vec<Run> {
    let mut runs = RunsAccumulator::new(&result_type(&[layout()])).unwrap();
    let mut k = 0;
    for part in samples.chunks(batch) {
        let length = i32::try_from(part.len()).unwrap();
        let numbers: ArrayRef = Arc::new(Int32Array::from_iter_values(k..k + length));
        k += length;
        let arguments = [numbers, argument(part, stray)];
        runs.update_batch(&arguments, &vec![0; part.len()], None, 1)
            .unwrap();
    }
    let result = runs.evaluate(EmitTo::All).unwrap();
    crate::runs::decode(&result, 0).unwrap().remove(0)
}

proptest! {
    #[test]
    fn a_window_with_flags_is_the_code_of_its_bits(
        parts in prop::collection::vec(
            ((any::<Option<bool>>(), any::<Option<bool>>(), any::<Option<bool>>()), 1..70_usize), 1..12),
        known in prop::collection::vec(any::<bool>(), 8),
        batch in 1..300_usize,
        stray in 0..70_usize,
    ) {
        let mut samples: Vec<Flagged> = Vec::new();
        for ((window, one, two), length) in parts {
            for _ in 0..length {
                let at = samples.len();
                let number = known[at % known.len()].then_some((at * 7 % 31) as f32);
                samples.push((window, one, two, number));
            }
        }
        let runs = compressed(&samples, batch, stray);
        let mut from = 0;
        for run in &runs {
            let to = run.k_last as usize;
            prop_assert_eq!(run.k_first as usize, from);
            prop_assert!(samples[from..=to].iter().all(|s| Some(code(s)) == run.code));
            prop_assert!(samples.get(to + 1).is_none_or(|s| Some(code(s)) != run.code));
            let inside = samples[from].0 == Some(true);
            let members = &samples[from..=to];
            // Numbers are whole and small: a state holds them as they are.
            let ends = |of: fn(f32) -> f32| Ends {
                first: members[0].3.filter(|_| inside).map(of),
                last: members[to - from].3.filter(|_| inside).map(of),
            };
            prop_assert_eq!(&run.ends, &[ends(|n| n), ends(|n| n), ends(|n| n % 2.0)]);
            let least = members.iter().filter(|_| inside).filter_map(|s| s.3).reduce(f32::min);
            prop_assert_eq!(run.values[0].min.as_ref().map(|min| min.value), least);
            from = to + 1;
        }
        prop_assert_eq!(from, samples.len());
    }
}
