//! Files that want to do harm.
