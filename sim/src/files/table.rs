//! Numbers in columns: CSV in and out.

use std::ops::RangeInclusive;

use crate::files::mistake::{Mistake, Refusal, Source, out_of_range, range_remedy};

/// Reads a CSV file of exactly two named columns, the first of which never falls.
///
/// # Errors
/// Every mistake: a wrong header, a cell that is no number or out of range, a row of another
/// length, a step back, fewer than two rows, a missing last line end.
pub fn read_pairs(
    source: &Source,
    header: [&str; 2],
    ranges: [RangeInclusive<f64>; 2],
) -> Result<Vec<[f64; 2]>, Refusal> {
    let mut mistakes: Vec<Mistake> = source.cut_off().into_iter().collect();
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .from_reader(source.text.as_bytes());
    let mut pairs: Vec<[f64; 2]> = Vec::new();
    let mut headed = false;
    for record in reader.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                mistakes.push(Mistake {
                    what: format!("a row cannot be read: {error}"),
                    span: None,
                    remedy: "write two numbers separated by a comma".into(),
                });
                continue;
            }
        };
        let start = record.position().map_or(0, |position| position.byte() as usize);
        let line_end = source.text.get(start..).and_then(|rest| rest.find('\n'));
        let span = start..line_end.map_or(source.text.len(), |length| start + length);
        let mut say = |what: String, remedy: String| {
            mistakes.push(Mistake { what, span: Some(span.clone()), remedy });
        };
        if !headed {
            headed = true;
            if record.iter().ne(header) {
                say(
                    format!("the header is not {}", header.join(",")),
                    format!("make the first line {}", header.join(",")),
                );
                // Without its columns the rest of the file cannot be judged.
                break;
            }
            continue;
        }
        let [Some(first), Some(second), None] = [record.get(0), record.get(1), record.get(2)]
        else {
            say(
                format!("the row has {} cells; allowed is 2", record.len()),
                "write two numbers separated by a comma".into(),
            );
            continue;
        };
        let mut pair = [0.0; 2];
        let mut good = true;
        for (((cell, name), range), number) in
            [first, second].iter().zip(header).zip(&ranges).zip(&mut pair)
        {
            match cell.parse::<f64>() {
                Ok(value) if range.contains(&value) => *number = value,
                Ok(value) => {
                    good = false;
                    say(
                        out_of_range(name, value, range),
                        range_remedy(value, range.start(), range.end()),
                    );
                }
                Err(_) => {
                    good = false;
                    say(
                        format!("{name} is \"{cell}\"; allowed is a number"),
                        "write a number with a point for decimals".into(),
                    );
                }
            }
        }
        if good && pairs.last().is_some_and(|before| before[0] > pair[0]) {
            good = false;
            say(
                format!("{} goes back to {}", header[0], pair[0]),
                format!("sort the rows by {}", header[0]),
            );
        }
        if good {
            pairs.push(pair);
        }
    }
    if mistakes.is_empty() && pairs.len() < 2 {
        return Err(source.clone().refuse(
            format!("it has {} rows of numbers; allowed is 2 or more", pairs.len()),
            "give at least a start and an end",
        ));
    }
    if mistakes.is_empty() {
        Ok(pairs)
    } else {
        // A file of garbage should not print a book.
        mistakes.truncate(20);
        Err(Refusal { source: source.clone(), mistakes })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Vec<[f64; 2]>, Vec<String>> {
        read_pairs(&Source::new("t.csv", text), ["a_s", "b_us"], [0.0..=10.0, 0.0..=3_000.0])
            .map_err(|refusal| refusal.mistakes.into_iter().map(|mistake| mistake.what).collect())
    }

    #[test]
    fn good_rows_come_back_as_numbers() {
        assert_eq!(
            read("# note\na_s, b_us\n0, 1500\n0.02,1e3\n"),
            Ok(vec![[0.0, 1_500.0], [0.02, 1_000.0]])
        );
    }

    #[test]
    fn every_bad_row_is_named() {
        let bad = "a_s,b_us\n0,1500\n1,nan\n2,x\n3\n1,1500\n4,inf\n5,9999\n-1,1\n";
        assert_eq!(read(bad).unwrap_err().len(), 6, "{:?}", read(bad));
        assert!(read("a_s,b_us\n0,1500\n1,15").unwrap_err()[0].contains("cut off"));
        assert!(read("a,b\n0,1\n1,1\n").unwrap_err()[0].contains("header"));
        assert!(read("a_s,b_us\n0,1\n").unwrap_err()[0].contains("1 rows"));
        assert!(read("").is_err());
    }
}
