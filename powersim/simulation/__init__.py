"""From a passage to its result: preparation, the stepping kernel, the books."""
