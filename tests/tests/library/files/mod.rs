//! What is read: rigs and tunes cut anywhere, a recorded track, the fuzzers' corpus, the book's pages.

mod book;
mod corpus;
mod cut;
mod renamed;
mod track;
