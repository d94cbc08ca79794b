"""The job folder while it is open: the job with its revision, pictures, previews."""
