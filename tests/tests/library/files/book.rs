//! The book and the pages beside it: every page is listed, every link and picture leads somewhere.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().to_owned()
}

/// All Markdown below a folder but what is included elsewhere.
fn pages(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() && !path.ends_with("made") {
            pages(&path, found);
        } else if path.extension().is_some_and(|end| end == "md") {
            found.push(path);
        }
    }
}

fn events(path: &Path) -> Vec<Event<'static>> {
    let text = fs::read_to_string(path).unwrap();
    Parser::new_ext(&text, Options::ENABLE_TABLES).map(Event::into_static).collect()
}

/// What a page links to and shows.
fn links(path: &Path) -> Vec<String> {
    let target = |event| match event {
        Event::Start(Tag::Link { dest_url, .. } | Tag::Image { dest_url, .. }) => {
            Some(dest_url.to_string())
        }
        _ => None,
    };
    events(path).into_iter().filter_map(target).collect()
}

/// The anchors of a page's headings, as mdBook and code hosts make them.
fn anchors(path: &Path) -> BTreeSet<String> {
    let (mut found, mut heading) = (BTreeSet::new(), None::<String>);
    for event in events(path) {
        match event {
            Event::Start(Tag::Heading { .. }) => heading = Some(String::new()),
            Event::End(TagEnd::Heading(_)) => {
                let text = heading.take().unwrap().to_lowercase();
                let kept = text.chars().filter(|c| c.is_alphanumeric() || "-_ ".contains(*c));
                found.insert(kept.map(|c| if c == ' ' { '-' } else { c }).collect());
            }
            Event::Text(text) | Event::Code(text) => {
                if let Some(heading) = &mut heading {
                    heading.push_str(&text);
                }
            }
            _ => {}
        }
    }
    found
}

#[test]
fn every_page_is_listed_once() {
    let book = root().join("docs/src");
    let mut all = Vec::new();
    pages(&book, &mut all);
    let summary = book.join("SUMMARY.md");
    let listed: Vec<PathBuf> = links(&summary).iter().map(|link| book.join(link)).collect();
    for page in all.iter().filter(|page| **page != summary) {
        let times = listed.iter().filter(|one| *one == page).count();
        assert_eq!(times, 1, "{} is listed {times} times in SUMMARY.md", page.display());
    }
    assert!(listed.len() > 20);
}

#[test]
fn every_link_and_picture_leads_somewhere() {
    let mut all = vec!["README.md", "DEVELOPERS.md", "CHANGELOG.md", "bench/README.md"]
        .into_iter()
        .map(|name| root().join(name))
        .collect();
    pages(&root().join("docs/src"), &mut all);
    let mut checked = 0;
    for page in &all {
        for link in links(page).iter().filter(|link| !link.contains("://")) {
            let (file, anchor) = link.split_once('#').unwrap_or((link, ""));
            let target = match file {
                "" => page.clone(),
                file => page.parent().unwrap().join(file),
            };
            assert!(target.exists(), "{}: {link} leads nowhere", page.display());
            if !anchor.is_empty() {
                let has = anchors(&target).contains(anchor);
                assert!(has, "{}: {link} names no heading of that page", page.display());
            }
            checked += 1;
        }
        // What is included must be there too; mdBook only warns.
        for part in fs::read_to_string(page).unwrap().split("{{#include ").skip(1) {
            let name = part.split(['}', ':']).next().unwrap();
            let target = page.parent().unwrap().join(name);
            assert!(target.is_file(), "{} includes {name}", page.display());
            checked += 1;
        }
    }
    assert!(checked > 150, "{checked}");
}
