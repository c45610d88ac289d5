//! A page in the report's form with other content: headings, tables, text. The bench's pages are made of it.

use maud::{DOCTYPE, Markup, PreEscaped, html};
use std::fmt::Write;

const STYLE: &str = include_str!("style.css");

/// A table.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Grid {
    /// Headings of the columns.
    pub head: Vec<String>,
    /// Cells, row by row.
    pub rows: Vec<Vec<String>>,
}

impl Grid {
    /// A table without rows.
    pub fn new(head: &[&str]) -> Self {
        Self { head: head.iter().map(|&word| word.to_owned()).collect(), rows: Vec::new() }
    }

    /// Adds a row.
    pub fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(cells.into_iter().collect());
    }

    /// Whether a column holds numbers only.
    fn is_number(&self, column: usize) -> bool {
        let mut cells = self.rows.iter().filter_map(|row| row.get(column));
        cells.all(|cell| cell.parse::<f64>().is_ok())
    }

    /// The table as text, columns in line.
    pub fn text(&self) -> String {
        let all = || std::iter::once(&self.head).chain(&self.rows);
        let widths: Vec<usize> = (0..self.head.len())
            .map(|column| all().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max().unwrap_or(0))
            .collect();
        let mut text = String::new();
        for row in all() {
            let mut line = String::from(" ");
            for (column, (cell, &width)) in row.iter().zip(&widths).enumerate() {
                let _ = if self.is_number(column) {
                    write!(line, " {cell:>width$} ")
                } else {
                    write!(line, " {cell:<width$} ")
                };
            }
            text += line.trim_end();
            text.push('\n');
        }
        text
    }

    /// The table as Markdown.
    pub fn markdown(&self) -> String {
        let line = |cells: &[String]| format!("| {} |\n", cells.join(" | ").replace('\n', " "));
        let rule = vec!["---".to_owned(); self.head.len()];
        let rows: String = self.rows.iter().map(|row| line(row)).collect();
        line(&self.head) + &line(&rule) + &rows
    }

    fn markup(&self) -> Markup {
        let class = |column: usize| if self.is_number(column) { "" } else { "word" };
        html! {
            table {
                thead { tr { @for (column, cell) in self.head.iter().enumerate() { th class=(class(column)) { (cell) } } } }
                tbody {
                    @for row in &self.rows {
                        tr { @for (column, cell) in row.iter().enumerate() { td class=(class(column)) { (cell) } } }
                    }
                }
            }
        }
    }
}

/// A piece of a section.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// A paragraph.
    Text(String),
    /// A table.
    Table(Grid),
}

/// A page.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sheet {
    /// What sort of page, above its title.
    pub kind: String,
    /// Title.
    pub title: String,
    /// Whether all is well, and in which words.
    pub verdict: (bool, String),
    /// Sections by their headings.
    pub sections: Vec<(String, Vec<Block>)>,
}

/// The page as text, self-contained.
pub fn render(sheet: &Sheet) -> String {
    let (good, words) = &sheet.verdict;
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (sheet.title) " · " (sheet.kind) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header { p class="kind" { (sheet.kind) } h1 { (sheet.title) } }
                p class=(if *good { "verdict met" } else { "verdict missed" }) { (words) }
                main {
                    @for (heading, blocks) in &sheet.sections {
                        section {
                            h2 { (heading) }
                            @for block in blocks {
                                @match block {
                                    Block::Text(text) => p { (text) },
                                    Block::Table(grid) => (grid.markup()),
                                }
                            }
                        }
                    }
                }
            }
        }
    };
    page.into_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_escaped_and_numbers_stand_to_the_right() {
        let mut grid = Grid::new(&["what", "count"]);
        grid.row(["a <b>".to_owned(), "7".to_owned()]);
        grid.row(["bit".to_owned(), "1234".to_owned()]);
        assert_eq!(grid.text(), "  what   count\n  a <b>      7\n  bit     1234\n");
        assert_eq!(grid.markdown(), "| what | count |\n| --- | --- |\n| a <b> | 7 |\n| bit | 1234 |\n");
        let sections = vec![("Table".to_owned(), vec![Block::Table(grid), Block::Text("Said & done".into())])];
        let page = render(&Sheet { verdict: (false, "one is wrong".into()), sections, ..Sheet::default() });
        assert!(page.contains("<td class=\"word\">a &lt;b&gt;</td>") && page.contains("Said &amp; done"));
        assert!(page.contains("verdict missed"));
    }
}
