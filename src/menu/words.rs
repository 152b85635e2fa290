//! Values of a menu in the cook's words, exactly as a menu file writes them.
