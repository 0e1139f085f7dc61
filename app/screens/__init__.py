"""The screens, one module each, in the order of the job."""
