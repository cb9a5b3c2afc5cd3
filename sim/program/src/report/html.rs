//! Self-contained pages: one file, readable on a phone, in print, in light and in dark.

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
    body: String,
}

impl Page {
    /// An empty page under its title.
    pub fn new(title: &str) -> Self {
        Self { title: escape(title), body: format!("<h1>{}</h1>\n", escape(title)) }
    }

    /// A heading.
    pub fn heading(&mut self, text: &str) {
        self.body.push_str(&format!("<h2>{}</h2>\n", escape(text)));
    }

    /// A heading under a heading.
    pub fn subheading(&mut self, text: &str) {
        self.body.push_str(&format!("<h3>{}</h3>\n", escape(text)));
    }

    /// A paragraph.
    pub fn paragraph(&mut self, text: &str) {
        self.body.push_str(&format!("<p>{}</p>\n", escape(text)));
    }

    /// A list of sentences.
    pub fn list(&mut self, items: impl IntoIterator<Item = impl AsRef<str>>) {
        self.items("ul", items);
    }

    /// A numbered list of sentences.
    pub fn steps(&mut self, items: impl IntoIterator<Item = impl AsRef<str>>) {
        self.items("ol", items);
    }

    fn items(&mut self, kind: &str, items: impl IntoIterator<Item = impl AsRef<str>>) {
        self.body.push_str(&format!("<{kind}>\n"));
        for item in items {
            self.body.push_str(&format!("<li>{}</li>\n", escape(item.as_ref())));
        }
        self.body.push_str(&format!("</{kind}>\n"));
    }

    /// A picture.
    pub fn figure(&mut self, figure: &Figure) {
        self.body.push_str(&format!(
            "<figure>{}<figcaption>{}</figcaption></figure>\n",
            figure.svg,
            escape(&figure.caption)
        ));
    }

    /// A table. The cells of a row stand in one line each, but the last, which may be long.
    pub fn table(&mut self, heads: &[String], rows: &[Vec<String>]) {
        let heads: String = heads.iter().map(|head| format!("<th>{}</th>", escape(head))).collect();
        self.body.push_str(&format!("<table>\n<tr>{heads}</tr>\n"));
        for row in rows {
            self.body.push_str("<tr>");
            for (index, cell) in row.iter().enumerate() {
                let class = if index + 1 < row.len() { " class=\"n\"" } else { "" };
                self.body.push_str(&format!("<td{class}>{}</td>", escape(cell)));
            }
            self.body.push_str("</tr>\n");
        }
        self.body.push_str("</table>\n");
    }

    /// What is HTML already.
    pub fn raw(&mut self, html: &str) {
        self.body.push_str(html);
    }

    /// The whole file.
    pub fn finish(self) -> String {
        let Self { title, body } = self;
        format!(
            "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta \
             name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{title}</title>\n\
             <style>{STYLE}</style>\n</head>\n<body>\n{body}</body>\n</html>\n"
        )
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

/// Text as it stands on a page.
pub fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
