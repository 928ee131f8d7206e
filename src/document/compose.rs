//! A first scene from a few words, commented, so that nobody starts from an empty file.
