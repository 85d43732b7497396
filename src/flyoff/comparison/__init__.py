"""Several airplanes on equal terms; figures out."""
