//! Self-contained pages: one file, readable on a phone, in print, in light and in dark.

use maud::{DOCTYPE, Markup, PreEscaped, html};

/// A picture on the page.
pub struct Figure {
    /// Under it.
    pub caption: String,
    /// The drawing.
    pub svg: String,
}

/// A page in the making. What is added is escaped, but drawings and [`Page::raw`].
pub struct Page {
    title: String,
    body: Vec<Markup>,
}

impl Page {
    /// An empty page under its title.
    pub fn new(title: &str) -> Self {
        Self { title: title.into(), body: vec![html! { h1 { (title) } }] }
    }

    /// A heading.
    pub fn heading(&mut self, text: &str) {
        self.body.push(html! { h2 { (text) } });
    }

    /// A heading under a heading.
    pub(crate) fn subheading(&mut self, text: &str) {
        self.body.push(html! { h3 { (text) } });
    }

    /// A paragraph.
    pub(crate) fn paragraph(&mut self, text: &str) {
        self.body.push(html! { p { (text) } });
    }

    /// A list of sentences.
    pub fn list(&mut self, items: impl IntoIterator<Item = impl AsRef<str>>) {
        self.body.push(html! { ul { @for item in items { li { (item.as_ref()) } } } });
    }

    /// A numbered list of sentences.
    pub fn steps(&mut self, items: impl IntoIterator<Item = impl AsRef<str>>) {
        self.body.push(html! { ol { @for item in items { li { (item.as_ref()) } } } });
    }

    /// A picture.
    pub fn figure(&mut self, figure: &Figure) {
        let Figure { caption, svg } = figure;
        self.body.push(html! { figure { (PreEscaped(svg)) figcaption { (caption) } } });
    }

    /// A table. The cells of a row stand in one line each, but the last, which may be long.
    pub fn table(&mut self, heads: &[String], rows: &[Vec<String>]) {
        self.body.push(html! {
            table {
                tr { @for head in heads { th { (head) } } }
                @for row in rows {
                    tr {
                        @for (index, cell) in row.iter().enumerate() {
                            td.n[index + 1 < row.len()] { (cell) }
                        }
                    }
                }
            }
        });
    }

    /// What is HTML already.
    pub fn raw(&mut self, html: &str) {
        self.body.push(PreEscaped(html.into()));
    }

    /// The whole file, an element of the body a line.
    pub fn finish(self) -> String {
        let Self { title, body } = self;
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    title { (title) }
                    style { (PreEscaped(STYLE)) }
                }
                body { @for element in body { (element) (PreEscaped("\n")) } }
            }
        };
        page.into_string()
    }
}

/// In the dark a picture is turned over: white becomes black, and every colour keeps its hue.
const STYLE: &str = "\
:root{color-scheme:light dark}\
body{font:16px/1.5 sans-serif;max-width:62rem;margin:0 auto;padding:1rem}\
figure{margin:1rem 0;background:#fff;padding:.25rem;border:1px solid #8886;overflow-x:auto}\
figure svg{width:100%;height:auto;min-width:40rem}\
figcaption{color:#444;padding:.25rem .5rem}\
table{border-collapse:collapse;display:block;overflow-x:auto}\
th,td{text-align:left;padding:.25rem .75rem;border-bottom:1px solid #8886;vertical-align:top}\
td.n{white-space:nowrap}\
@media print{figure{break-inside:avoid}}\
@media screen and (prefers-color-scheme:dark){\
figure{background:#000}figcaption{color:#bbb}figure svg{filter:invert(1) hue-rotate(180deg)}}";
