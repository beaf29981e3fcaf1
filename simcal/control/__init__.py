"""The laws of control: the sampled PID, its drive, tuning and margins; controllers known from outside."""
