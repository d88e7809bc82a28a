"""An independent road: the same pulls computed slowly, by other means, without a line of the package."""
