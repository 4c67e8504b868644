//! One test binary; one module for each part of eaves.
