"""The dashboards: one notebook for each view of a case, served on this computer by :func:`dashboards.launch.serve`."""
