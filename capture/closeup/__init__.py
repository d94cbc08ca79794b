"""One photo with a thing of known size on the floor: casings and pipes measured in true shape."""
