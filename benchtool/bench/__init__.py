"""The Qt window, one module for each pane."""
