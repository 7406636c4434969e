//! Wrong, hostile and huge input.
