//! The page stands alone, agrees with the summary, and copes with a run that has nothing in it.

use std::collections::{BTreeSet, HashSet};

use serde_json::Value;
use stillframe::report::{Context, ReportData, render};

use super::synthetic;

/// Every attribute value of a name, in order.
fn attributes<'a>(page: &'a str, name: &str) -> Vec<&'a str> {
    let key = format!(" {name}=\"");
    page.split(key.as_str()).skip(1).filter_map(|rest| rest.split('"').next()).collect()
}

/// The number at a dotted path; `None` if the path leads nowhere.
fn at<'a>(value: &'a Value, path: &str) -> Option<&'a Value> {
    path.split('.').try_fold(value, |v, key| key.parse::<usize>().ok().and_then(|k| v.get(k)).or_else(|| v.get(key)))
}

#[test]
fn page_fetches_nothing_and_runs_nothing() {
    let page = render(&synthetic::report_data(20_000.0));
    // Pictures are in the page itself; with them taken away, nothing may be left that a browser would fetch.
    let mut parts = page.split("<img src=\"data:image/png;base64,");
    let mut page = parts.next().unwrap_or_default().to_owned();
    let pictures = parts.map(|part| page.push_str(part.split_once('"').expect("the picture ends").1)).count();
    assert_eq!(pictures, 3);
    for banned in ["<script", "<link", "<img", "<iframe", "@import", "src=", "onclick", "javascript:"] {
        assert!(!page.contains(banned), "the page contains {banned}");
    }
    assert_eq!(page.matches("url(").count(), page.matches("url(#").count(), "only the page's own clip paths");
    let links: BTreeSet<&str> =
        page.match_indices("http").map(|(i, _)| page[i..].split('"').next().unwrap_or("")).collect();
    assert!(links.iter().all(|l| *l == "http://www.w3.org/2000/svg"), "{links:?}");
}

#[test]
fn ids_are_unique_and_every_entry_of_the_contents_leads_somewhere() {
    let page = render(&synthetic::report_data(20_000.0));
    let ids = attributes(&page, "id");
    let unique: HashSet<&str> = ids.iter().copied().collect();
    assert_eq!(ids.len(), unique.len());
    let targets = attributes(&page, "href");
    assert!(targets.len() >= 10);
    for target in targets {
        assert!(unique.contains(target.trim_start_matches('#')), "{target}");
    }
}

#[test]
fn numbers_on_the_page_are_those_of_the_summary() {
    let data = synthetic::report_data(20_000.0);
    let page = render(&data);
    let summary = serde_json::to_value(&data.summary).expect("JSON");
    let mut checked = HashSet::new();
    for tag in page.split("<data ").skip(1) {
        let tag = format!(" {}", tag.split('>').next().unwrap_or(""));
        let (key, value) = (attributes(&tag, "data-key")[0], attributes(&tag, "value")[0]);
        let wanted =
            at(&summary, key).and_then(Value::as_f64).unwrap_or_else(|| panic!("{key} is no number of the summary"));
        assert_eq!(value.parse::<f64>().expect("a number"), wanted, "{key}");
        checked.insert(key.to_string());
    }
    assert!(checked.len() > 80, "only {} numbers quoted", checked.len());
}

#[test]
fn every_chart_is_vector_named_and_finite() {
    let page = render(&synthetic::report_data(86_400.0));
    let pictures = page.matches("<svg").count();
    assert!(pictures > 30);
    assert_eq!(pictures, page.matches("role=\"img\"").count() + page.matches("aria-hidden=\"true\"").count());
    assert!(!page.contains("NaN") && !page.contains("inf "));
    assert!(page.len() < 3_000_000, "{} bytes", page.len());
}

#[test]
fn same_run_gives_the_same_page() {
    let data = synthetic::report_data(5_000.0);
    assert!(render(&data) == render(&data));
}

#[test]
fn a_run_with_nothing_in_it_still_makes_a_page() {
    let data = ReportData {
        home: None,
        summary: stillframe::record::Summary::default(),
        digest: stillframe::record::Digest::new(Vec::new()),
        frames: Vec::new(),
        sheet: Vec::new(),
        format: Vec::new(),
        context: Context::default(),
    };
    let page = render(&data);
    assert!(page.contains("No frame was exposed"));
    assert!(!page.contains("NaN"));
}

#[test]
fn markup_in_names_is_text() {
    let mut data = synthetic::report_data(1_000.0);
    data.context.areas[0].name = "<b>\"Sand\" & shore</b>".into();
    data.context.stations[0].name = "<script>".into();
    let page = render(&data);
    assert!(!page.contains("<b>\"Sand\"") && !page.contains("<script"));
    assert!(page.contains("&lt;b&gt;"));
}

/// Writes the made-up report where `STILLFRAME_LOOK` says, to be looked at.
#[test]
#[ignore = "writes a page to look at: STILLFRAME_LOOK=page.html cargo test --test record look -- --ignored"]
fn look() {
    let path = std::env::var("STILLFRAME_LOOK").expect("STILLFRAME_LOOK names the file to write");
    std::fs::write(path, render(&synthetic::report_data(86_400.0))).expect("written");
}
