"""Files: the job file, settings, backups, locks."""
