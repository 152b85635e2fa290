//! The one integration test binary; a line of purpose for each module.
