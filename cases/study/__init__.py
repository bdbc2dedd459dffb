"""Studies at scale: one case solved many times with grids, lists and samples of its keys.  ``cases.studies`` holds the
few factor studies that are built in."""
