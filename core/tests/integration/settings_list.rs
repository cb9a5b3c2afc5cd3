//! The list of settings: it names every one, and reading and setting by it is reading and setting them.

use easeoff_core::{Kind, SETTINGS, Settings, TickRate};

#[test]
fn no_path_comes_twice_and_every_row_has_its_words() {
    for (index, setting) in SETTINGS.iter().enumerate() {
        let same = SETTINGS.iter().filter(|other| other.path == setting.path).count();
        assert_eq!(same, 1, "{}", setting.path);
        assert!(!setting.words.is_empty() && !setting.words.contains('\n'), "{}", setting.path);
        // A part is switched on before its settings are read, and lies in the table of its name.
        if let (table, "on") = setting.table_and_key() {
            assert!(matches!(setting.kind, Kind::Part { .. }), "{}", setting.path);
            let inside = format!("{table}.");
            let first = SETTINGS.iter().position(|other| other.path.starts_with(&inside));
            assert_eq!(first, Some(index), "{} comes first of its part", setting.path);
        }
    }
}

#[test]
fn in_full_every_number_has_a_value_and_the_defaults_are_accepted() {
    let full = Settings::in_full();
    assert!(full.prepare(TickRate::new(1_000).unwrap()).is_ok());
    for setting in SETTINGS {
        if let Some([low, high]) = setting.range() {
            assert!(low < high, "{}", setting.path);
            let value = setting.number(&full).unwrap();
            assert!((low..=high).contains(&value), "{} is {value}", setting.path);
        }
        // By default what may be left out is.
        if let Kind::Optional { .. } | Kind::Part { .. } = setting.kind {
            let default = Settings::default();
            assert_eq!(setting.number(&default), None, "{}", setting.path);
            assert_ne!(setting.is_on(&default), Some(true), "{}", setting.path);
        }
    }
}

#[test]
fn what_is_set_reads_back_and_nothing_else_changes() {
    for setting in SETTINGS {
        let full = Settings::in_full();
        let mut tune = full;
        match setting.kind {
            Kind::Number { range: [low, _], .. }
            | Kind::Optional { range: [low, _], .. }
            | Kind::Whole { range: [low, _], .. } => {
                setting.set_number(&mut tune, low);
                assert_eq!(setting.number(&tune), Some(low), "{}", setting.path);
            }
            Kind::Flag { at } => {
                *at(&mut tune).unwrap() = true;
                assert_eq!(setting.flag(&tune), Some(true), "{}", setting.path);
            }
            Kind::Choice { of, get, set } => {
                for (index, name) in of.names.iter().enumerate() {
                    set(&mut tune, index);
                    assert_eq!((get(&tune), setting.name(&tune)), (index, Some(*name)));
                }
                let before = tune;
                set(&mut tune, of.names.len());
                assert_eq!(tune, before, "{}", setting.path);
            }
            Kind::Part { set, .. } => {
                set(&mut tune, true).unwrap();
                assert_eq!(tune, full, "{} was on already", setting.path);
                set(&mut tune, false).unwrap();
                assert_eq!(setting.is_on(&tune), Some(false), "{}", setting.path);
            }
            Kind::Knots { .. } => {}
        }
        let (table, _) = setting.table_and_key();
        for other in SETTINGS.iter().filter(|other| other.path != setting.path) {
            let (others, _) = other.table_and_key();
            if others.starts_with(table) && matches!(setting.kind, Kind::Part { .. })
                || setting.path == "drag.law" && other.path == "drag.full_a"
            {
                continue;
            }
            let all =
                |tune| (other.number(tune), other.flag(tune), other.name(tune), other.is_on(tune));
            assert_eq!(all(&tune), all(&full), "{} changes {}", setting.path, other.path);
        }
    }
}
