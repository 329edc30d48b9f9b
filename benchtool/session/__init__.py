"""What is open now, without Qt: the only place that changes a job."""
