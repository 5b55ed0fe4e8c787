//! Published examples, and the real binary driven through a pseudo-terminal.
